"""Lines whose cylinder could not be named: a person at the bench says which it is, or none."""

import datetime as dt

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet

from api import posted_records
from api.batches import running, verdicts
from api.models import BatchLine
from cylinders.facts import Actor
from cylinders.models import Cylinder
from cylinders.queries import for_lab
from cylinders.rules.judgement import loads
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say


def lines() -> QuerySet[BatchLine]:
    """Every line that waits, the oldest first; a dry run waits for nobody."""
    waiting = BatchLine.objects.filter(outcome=BatchLine.Outcome.WAITING, batch__dry_run=False)
    return waiting.select_related("batch__lab").order_by("pk")


def text_of(line: BatchLine) -> str:
    """The record that stands in the line, as JSON text."""
    return dict(running.lines_of(line.batch.content))[line.number]


def candidates(line: BatchLine) -> list[Cylinder]:
    """The cylinders that were sent to the line's lab in a visit that is still open."""
    sent = for_lab.lines_sent(lab_id=line.batch.lab_id)
    return list({one.work_order.cylinder_id: one.work_order.cylinder for one in sent}.values())


@transaction.atomic
def decide(
    *, line_id: int, cylinder_id: int | None, reason: str, at: dt.datetime, by: User
) -> BatchLine:
    """Take the line's record for that cylinder, or (None) take the line out.

    The record is judged against the cylinder that was named: where its marks differ, it is held.
    Raises :class:`Refused`: ``not_waiting``, ``no_reason``, ``cylinder_not_found``, and what the
    record itself is refused for.
    """
    line = BatchLine.objects.select_for_update(of=("self",)).select_related("batch").get(pk=line_id)
    if line.outcome != BatchLine.Outcome.WAITING or line.batch.dry_run:
        raise Refused("not_waiting", say("That line has been decided already."))
    if not reason.strip():
        raise Refused("no_reason", say("Write what you compared, and what you found."))
    if cylinder_id is None:
        line.outcome, line.code, line.says = BatchLine.Outcome.REFUSED, "taken_out", reason
    else:
        picked = next((one for one in candidates(line) if one.pk == cylinder_id), None)
        if picked is None:
            raise Refused("cylinder_not_found", say("That cylinder is not at the lab."))
        received = posted_records.receive(
            lab_id=line.batch.lab_id,
            value=loads(text_of(line)),
            at=at,
            by=Actor("staff", str(by.pk)),
            picked=picked,
        )
        verdicts.note(line, received)
    line.decided, line.decided_by = reason, by
    line.save()
    return line
