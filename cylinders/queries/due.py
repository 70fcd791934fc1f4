"""What is due, over the whole shop: the rules asked for every cylinder that still serves."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from cylinders.models import Cylinder, Life, Shop
from cylinders.queries.known import facts_of
from cylinders.rules import duties
from cylinders.rules.duties import Duty, State


@dataclass(frozen=True, slots=True)
class DueItem:
    """One duty of one cylinder on one day."""

    cylinder: Cylinder
    duty: Duty


def duties_of(cylinder: Cylinder, *, on: dt.date) -> tuple[Duty, ...]:
    """Every duty of one cylinder as it stands on ``on``; see :func:`cylinders.rules.duties.due`."""
    return duties.due(facts_of(cylinder), on=on)


def due_list(*, on: dt.date, within_days: int = 60) -> list[DueItem]:
    """Duties that are overdue, unknown or due within ``within_days`` of ``on``, earliest first.

    Cylinders that are rejected or condemned have no duties. Unknown ones stand first: what nobody
    knows needs a look before what is merely late.
    """
    limit = on + dt.timedelta(days=within_days)
    items = [
        item
        for item in _all(on)
        if item.duty.state in (State.OVERDUE, State.UNKNOWN)
        or (item.duty.due is not None and item.duty.due <= limit)
    ]
    return sorted(items, key=lambda item: (item.duty.due or dt.date.min, item.cylinder.pk))


def _all(on: dt.date) -> Iterator[DueItem]:
    shop = Shop.objects.first()
    country = shop.country if shop else "US"
    serving = Cylinder.objects.filter(life=Life.IN_SERVICE).select_related("owner").order_by("pk")
    for cylinder in serving.iterator():
        for duty in duties.due(facts_of(cylinder, country=country), on=on):
            yield DueItem(cylinder, duty)
