"""A run of blank labels: reserved, sent one by one, and confirmed by a person who looked.

Each label is marked as sent before it is handed to the printer, so a crash can leave one that was
never printed marked as sent, and never one that was printed marked as free. After an interruption
a person says which label was the last good one; the rest are spoiled, and a spoiled code is never
bound. So no code can come to stand on two labels that mean two things.
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from django.db import transaction

from cylinders.facts import Actor
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say
from labels.models import Printed, PrintRun, Tag, TagState
from labels.operations.minting import MOST_IN_A_RUN, mint


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a run is."""

    total: int
    reserved: int
    sent: int
    confirmed: int
    spoiled: int

    @property
    def done(self) -> int:
        """Labels that went to the printer, or were given up."""
        return self.total - self.reserved


@transaction.atomic
def start(
    *,
    key: str,
    count: int,
    host: str,
    printer: str,
    at: dt.datetime,
    by: Actor,
) -> PrintRun:
    """Reserve ``count`` codes for a run, or return the run that bears ``key`` already.

    Raises ``ValueError`` for a count that no run has, :class:`Refused` when the key was used for
    another count.
    """
    run, new = PrintRun.objects.get_or_create(
        key=key,
        defaults={
            "printer": printer,
            "started_at": at,
            "started_by_id": by.staff_id,
            "count": count,
        },
    )
    if not new:
        if run.count != count:
            raise Refused(
                "key_used",
                say("That form printed {count} labels already. Begin anew.", count=run.count),
            )
        return run
    for place, tag in enumerate(mint(count=count, host=host, at=at, run=run), start=1):
        tag.place, tag.printed = place, Printed.RESERVED
        tag.save(update_fields=["place", "printed"])
    return run


def send(*, run_id: int, to_printer: Callable[[Tag], None], most: int = MOST_IN_A_RUN) -> int:
    """Hand at most ``most`` reserved labels of a run to the printer, in order; returns how many.

    ``to_printer`` prints one label and raises when it cannot. Two callers share the work: each
    label is taken by one of them. What was sent before an interruption is not sent again.
    """
    sent = 0
    while sent < most and (tag := _take_next(run_id)):
        to_printer(tag)
        sent += 1
    return sent


@transaction.atomic
def confirm(*, run_id: int, last_good: int, at: dt.datetime) -> PrintRun:
    """Say which label was the last good one (0: none); everything after it is spoiled.

    Raises :class:`Refused` for a place that the run does not have or that was never sent, and when
    a label after it hangs on something already. Said twice, the same answer changes nothing.
    """
    run = PrintRun.objects.select_for_update().filter(pk=run_id).first()
    if run is None:
        raise Refused("unknown_run", say("There is no such print run."))
    if run.confirmed_at:
        if run.tags.filter(printed=Printed.CONFIRMED).count() == last_good:
            return run
        raise Refused("run_confirmed", say("Somebody has said how this run ended already."))
    if not 0 <= last_good <= run.count:
        raise Refused(
            "no_such_label",
            say("The run has labels 1 to {count}. Say 0 for none.", count=run.count),
        )
    good = run.tags.filter(place__lte=last_good)
    if good.filter(printed=Printed.RESERVED).exists():
        raise Refused("never_sent", say("Labels before that one were never sent to the printer."))
    rest = run.tags.filter(place__gt=last_good)
    if rest.exclude(state=TagState.MINTED).exists():
        raise Refused(
            "label_in_use", say("A label after that one hangs on something: it was good.")
        )
    good.update(printed=Printed.CONFIRMED)
    rest.update(printed=Printed.SPOILED, state=TagState.SPOILED)
    run.confirmed_at = at
    run.save(update_fields=["confirmed_at"])
    return run


def progress(run: PrintRun) -> Progress:
    """Count the labels of a run by what is known of them."""
    known = list(run.tags.values_list("printed", flat=True))
    return Progress(
        total=run.count,
        reserved=known.count(Printed.RESERVED),
        sent=known.count(Printed.SENT),
        confirmed=known.count(Printed.CONFIRMED),
        spoiled=known.count(Printed.SPOILED),
    )


@transaction.atomic
def _take_next(run_id: int) -> Tag | None:
    run = PrintRun.objects.select_for_update().get(pk=run_id)
    if run.confirmed_at:
        return None
    tag = run.tags.filter(printed=Printed.RESERVED).order_by("place").first()
    if tag is not None:
        tag.printed = Printed.SENT
        tag.save(update_fields=["printed"])
    return tag
