"""What the index of due days holds for a cylinder, and for how long the rules' answer stands."""

import datetime as dt
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from cylinders import rules
from cylinders.models import Cylinder, DueLook, KnownDue, Life, OwnerRow, Shop
from cylinders.queries.known import facts_of
from cylinders.queries.owner_rows import extra_rows
from cylinders.rules import duties
from cylinders.rules.cylinder_facts import CylinderFacts
from cylinders.rules.extra_rows import ExtraRows
from cylinders.rules.month import Month
from cylinders.rules.specifications import find


@dataclass(frozen=True, slots=True)
class Looked:
    """The last day of each duty that has one, and from when the rules may answer otherwise."""

    days: dict[str, dt.date]
    again_on: dt.date | None


@dataclass(frozen=True, slots=True)
class RuleBook:
    """The rules as they are asked for every cylinder of one look through the shop."""

    country: str
    extra: ExtraRows
    edition: str

    def look(self, cylinder: Cylinder, *, on: dt.date) -> Looked:
        """What the rules say of one cylinder on day ``on``; nothing of one that is out of use."""
        if cylinder.life != Life.IN_SERVICE:
            return Looked({}, None)
        facts = facts_of(cylinder, country=self.country)
        told = duties.due(facts, on=on, extra=self.extra)
        days = {duty.kind.value: duty.due for duty in told if duty.due is not None}
        ahead = (day for day in _turning_days(facts, self.extra) if day > on)
        return Looked(days, min(ahead, default=None))


def rule_book() -> RuleBook:
    """The rules with the shop's country and the owner's rows, under a name for all of them."""
    shop = Shop.objects.first()
    country = shop.country if shop else "US"
    newest = OwnerRow.objects.order_by("-pk").values_list("pk", flat=True).first()
    name = f"{_source()}:{country}:{newest}"
    return RuleBook(country, extra_rows(), hashlib.sha256(name.encode()).hexdigest())


def problems_of(cylinder: Cylinder, book: RuleBook) -> Iterator[str]:
    """Hold the index against the rules where it says that it is fresh; each difference a sentence.

    One that is older than the cylinder's history or than the rules is asked anew before it is used,
    and so is no problem.
    """
    look = DueLook.objects.filter(cylinder=cylinder).first()
    if look is None or (look.events, look.edition) != (cylinder.events_held, book.edition):
        return
    held = dict(KnownDue.objects.filter(cylinder=cylinder).values_list("duty", "due"))
    told = book.look(cylinder, on=look.on)
    for duty in sorted(held.keys() | told.days.keys()):
        if held.get(duty) != told.days.get(duty):
            yield (
                f"cylinder {cylinder.pk}, {duty}: its index says {held.get(duty)}, "
                f"the rules say {told.days.get(duty)}"
            )
    if look.again_on != told.again_on:
        yield f"cylinder {cylinder.pk}: its index is good until another day than the rules say"


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
