"""What is due, over the whole shop: the rules asked for every cylinder that still serves."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from cylinders.models import Cylinder, Life, Shop
from cylinders.queries.known import facts_of
from cylinders.queries.owner_rows import extra_rows
from cylinders.rules import duties
from cylinders.rules.duty import Duty, State
from cylinders.rules.quantity import Quantity
from cylinders.rules.status import FillVerdict, fit_for_fill


@dataclass(frozen=True, slots=True)
class DueItem:
    """One duty of one cylinder on one day."""

    cylinder: Cylinder
    duty: Duty


def duties_of(cylinder: Cylinder, *, on: dt.date) -> tuple[Duty, ...]:
    """Every duty of one cylinder as it stands on ``on``; see :func:`cylinders.rules.duties.due`."""
    return duties.due(facts_of(cylinder), on=on, extra=extra_rows())


def fill_verdict(
    cylinder: Cylinder,
    *,
    on: dt.date,
    fo2: Decimal | None = None,
    requested_pressure: Quantity | None = None,
    relief_is_disc: bool | None = None,
) -> FillVerdict:
    """Whether ``cylinder`` may be filled on ``on``; see :mod:`cylinders.rules.status`.

    ``relief_is_disc`` is what somebody saw on the valve today, None when nobody looked.
    """
    return fit_for_fill(
        replace(facts_of(cylinder), relief_is_frangible_disc=relief_is_disc),
        on=on,
        fo2=fo2,
        requested_pressure=requested_pressure,
        extra=extra_rows(),
    )


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
    extra = extra_rows()
    serving = Cylinder.objects.filter(life=Life.IN_SERVICE).select_related("owner").order_by("pk")
    for cylinder in serving.iterator():
        for duty in duties.due(facts_of(cylinder, country=country), on=on, extra=extra):
            yield DueItem(cylinder, duty)
