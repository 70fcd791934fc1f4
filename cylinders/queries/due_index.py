"""What the index of due days holds for a cylinder, and for how long the rules' answer stands."""

import datetime as dt
import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from django.db.models import F, Q, QuerySet

from cylinders import growth, rules
from cylinders.models import Cylinder, DueLook, DueReach, Life, OwnerRow, Shop
from cylinders.queries.known import facts_of
from cylinders.queries.owner_rows import of_rows
from cylinders.rules import duties
from cylinders.rules.cylinder_facts import CylinderFacts
from cylinders.rules.duty import Duty
from cylinders.rules.extra_rows import ExtraRows
from cylinders.rules.month import Month
from cylinders.rules.specifications import find

_FORM = 2  # of what an entry holds; an index of another form is made anew


@dataclass(frozen=True, slots=True)
class Looked:
    """The last day of each duty, None where none is known; from when it may be otherwise."""

    days: dict[str, dt.date | None]
    again_on: dt.date | None


@dataclass(frozen=True, slots=True)
class RuleBook:
    """The rules as they are asked for every cylinder of one look through the shop."""

    country: str
    extra: ExtraRows
    edition: str

    def duties(self, cylinder: Cylinder, *, on: dt.date) -> tuple[Duty, ...]:
        """Every duty of one cylinder on day ``on``; none of one that is out of use."""
        if cylinder.life != Life.IN_SERVICE:
            return ()
        return duties.due(facts_of(cylinder, country=self.country), on=on, extra=self.extra)

    def look(self, cylinder: Cylinder, *, on: dt.date) -> Looked:
        """What the rules say of one cylinder on day ``on``; nothing of one that is out of use."""
        if cylinder.life != Life.IN_SERVICE:
            return Looked({}, None)
        facts = facts_of(cylinder, country=self.country)
        days = {duty.kind.value: duty.due for duty in self.duties(cylinder, on=on)}
        ahead = (day for day in _turning_days(facts, self.extra) if day > on)
        return Looked(days, min(ahead, default=None))


def rule_book() -> RuleBook:
    """The rules with the shop's country and the owner's rows, under a name for all of them."""
    shop = Shop.objects.first()
    country = shop.country if shop else "US"
    rows = list(OwnerRow.objects.order_by("-entered_at", "-pk"))
    # Each row, not the newest alone: one that was written before may have come after it.
    entered = ",".join(str(row.pk) for row in rows)
    name = f"{_FORM}:{_source()}:{country}:{entered}"
    return RuleBook(country, of_rows(rows), hashlib.sha256(name.encode()).hexdigest())


def old(book: RuleBook, *, on: dt.date) -> QuerySet[Cylinder]:
    """The cylinders whose entry is missing, older than their history or the rules, or run out."""
    fresh = Q(
        due_look__events=F("events_held"), due_look__edition=book.edition, due_look__on__lte=on
    )
    fresh &= Q(due_look__again_on__isnull=True) | Q(due_look__again_on__gt=on)
    return Cylinder.objects.exclude(fresh)


def reach(book: RuleBook, *, on: dt.date) -> int | None:
    """The place up to which the index is whole under these rules for day ``on``, or None.

    A cylinder without an event behind it, and whose look has not run out, need not be asked.
    """
    held = DueReach.objects.filter(edition=book.edition, on__lte=on).order_by("pk").first()
    return held.place if held else None


def run_out(*, on: dt.date) -> QuerySet[DueLook]:
    """The looks after which something turned by day ``on``."""
    return DueLook.objects.filter(again_on__lte=on)


def reach_problems(book: RuleBook) -> Iterator[str]:
    """Each cylinder that the index leaves out, or holds too long, where it says that it is whole.

    What changes at this moment is no problem.
    """
    held = DueReach.objects.order_by("pk").first()
    if held is None or held.place is None or held.edition != book.edition:
        return
    left = set(old(book, on=held.on).values_list("pk", flat=True))
    left -= growth.grown_since(held.place) or frozenset()
    left -= set(run_out(on=held.on).values_list("pk", flat=True))
    if left and DueReach.objects.filter(turn=held.turn, on=held.on).exists():
        for number in sorted(left):
            yield f"cylinder {number}: missing or old in an index of due days that says it is whole"


def problems_of(cylinder: Cylinder, book: RuleBook) -> Iterator[str]:
    """Hold the index against the rules where it says that it is fresh; each difference a sentence.

    One that is older than the cylinder's history or than the rules is asked anew before it is used,
    and so is no problem.
    """
    look: DueLook | None = getattr(cylinder, "due_look", None)
    if look is None or (look.events, look.edition) != (cylinder.events_held, book.edition):
        return
    held = {known.duty: known.due for known in cylinder.known_dues.all()}
    told = book.look(cylinder, on=look.on)
    for duty in sorted(held.keys() | told.days.keys()):
        index, rules_say = _said(held, duty), _said(told.days, duty)
        if index != rules_say:
            where = f"cylinder {cylinder.pk}, {duty}"
            yield f"{where}: its index says {index}, the rules say {rules_say}"
    if look.again_on != told.again_on:
        yield f"cylinder {cylinder.pk}: its index is good until another day than the rules say"


def _said(days: Mapping[str, dt.date | None], duty: str) -> str:
    return str(days[duty] or "not known") if duty in days else "nothing"


def _turning_days(facts: CylinderFacts, extra: ExtraRows) -> Iterator[dt.date]:
    """Every day from which a mark begins to count, or a dated row to hold or not to hold."""
    months = (
        *(mark.month for mark in facts.requalifications),
        *(facts.first_test, facts.last_visual, facts.last_thread_examination),
        *(facts.last_oxygen_clean, facts.last_valve_service),
    )
    yield from (_first_day(month) for month in months if month is not None)
    yield from _known(row.since for row in extra.permits)
    yield from _known(row.since for row in extra.countries)
    spec = find(facts.specification or "")
    for row in spec.intervals if spec else ():
        yield from _known((row.since, row.until + dt.timedelta(days=1) if row.until else None))


def _known(days: Iterable[dt.date | None]) -> Iterator[dt.date]:
    return (day for day in days if day is not None)


def _first_day(month: Month) -> dt.date:
    return month.last_day.replace(day=1)


@lru_cache(maxsize=1)
def _source() -> str:
    """A digest of the text of all rules: another release of them is another edition."""
    digest = hashlib.sha256()
    for path in sorted(Path(rules.__path__[0]).rglob("*.py")):
        digest.update(path.read_bytes())
    return digest.hexdigest()
