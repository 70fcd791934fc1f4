"""The story of one cylinder for its owner: where it is, what was found, what is due, what to mind.

Told from the history and the rules, in plain words. Left out on purpose: names of people, other
cylinders, prices, and whatever was noted for the bench alone. A new owner sees what was measured,
but not the visits from before the cylinder was theirs.
"""

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from cylinders import history
from cylinders.facts import Kind
from cylinders.history import Entry
from cylinders.models import Cylinder, Fill, Life
from cylinders.queries.for_customer.moments import Moment, Visit, visits
from cylinders.queries.for_customer.tested import Looked, Tested, inspections, tests
from cylinders.queries.for_customer.where import Where, where_is
from cylinders.queries.known import facts_of
from cylinders.queries.owner_rows import extra_rows
from cylinders.rules.duties import due
from cylinders.rules.duty import Duty
from cylinders.rules.fill_pressure import Highest, highest
from cylinders.rules.status import FillVerdict, fit_for_fill

__all__ = ["Looked", "Moment", "Story", "Tested", "Visit", "Where", "since_theirs", "story_of"]


@dataclass(frozen=True, slots=True)
class Story:
    """What the owner's page shows; the latest visit stands first."""

    cylinder: Cylinder
    where: Where
    visits: tuple[Visit, ...]
    tests: tuple[Tested, ...]
    inspections: tuple[Looked, ...]
    last_fill: Fill | None
    duties: tuple[Duty, ...]
    verdict: FillVerdict
    highest: Highest

    @property
    def serves(self) -> bool:
        """Whether it may be filled again at all, once what is due is done."""
        return self.cylinder.life == Life.IN_SERVICE


def story_of(cylinder: Cylinder, *, on: dt.date, zone: ZoneInfo) -> Story:
    """The story as it stands on day ``on`` for the present owner of ``cylinder``."""
    facts, extra = facts_of(cylinder), extra_rows()
    entries = since_theirs(history.timeline(cylinder.pk))
    return Story(
        cylinder=cylinder,
        where=where_is(cylinder),
        visits=visits(entries, zone=zone),
        tests=tests(cylinder),
        inspections=inspections(cylinder),
        last_fill=cylinder.fills.order_by("-filled_at", "-pk").first(),
        duties=due(facts, on=on, extra=extra),
        verdict=fit_for_fill(facts, on=on, extra=extra),
        highest=highest(facts, on=on, extra=extra),
    )


def since_theirs(entries: list[Entry]) -> list[Entry]:
    """The history since the cylinder last changed hands."""
    changes = [n for n, entry in enumerate(entries) if entry.kind is Kind.OWNER_CHANGED]
    return entries[changes[-1] :] if changes else entries
