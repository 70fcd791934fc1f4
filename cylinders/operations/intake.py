"""Drop-off: a cylinder is met for the first time, or comes again."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, Markings, Received
from cylinders.models import Customer, Cylinder, Life, Service, Shows, WorkOrder
from cylinders.operations import filing
from cylinders.rules.markings.usable import LONGEST
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Stage
from cylinders.rules.wording import phrase, say
from cylinders.story import MARKING_FIELDS


@dataclass(frozen=True, slots=True)
class Arrival:
    """What the technician wrote down at the counter; ``photos`` are numbers of kept files."""

    services: Sequence[str] = ()
    pressure_on_arrival: str = ""
    condition: str = ""
    photos: Sequence[int] = ()


@dataclass(frozen=True, slots=True)
class Newcomer:
    """A cylinder that the service has not met: its markings, and what its owner can show.

    ``decoded`` is the reading of the stamp in the shape of the ``decode`` command. Months are
    ``YYYY-MM``; ``oxygen_clean`` is None where nobody can tell.
    """

    markings: Markings
    decoded: Mapping[str, Any] = field(default_factory=dict)
    last_visual: str = ""
    last_oxygen_clean: str = ""
    oxygen_clean: bool | None = None
    use_gas: str = "air"
    condemned_by_marks: bool = False


@transaction.atomic
def receive_new(
    *,
    newcomer: Newcomer,
    owner_id: int,
    arrival: Arrival,
    at: dt.datetime,
    by: Actor,
) -> WorkOrder:
    """Register a cylinder and open its first work order.

    A cylinder that bears condemning marks is registered too, so that it is known ever after; its
    order goes straight to the exit.
    """
    _check(arrival)
    if len(newcomer.markings.stamp_text) > LONGEST:
        raise Refused(
            "stamp_too_long",
            say("Type only what is stamped on it, at most {most} signs.", most=LONGEST),
        )
    cylinder = Cylinder.objects.create(
        **{name: getattr(newcomer.markings, name) for name in MARKING_FIELDS},
        decoded=dict(newcomer.decoded),
        owner=_owner(owner_id),
        last_visual=newcomer.last_visual,
        last_oxygen_clean=newcomer.last_oxygen_clean,
        oxygen_clean=newcomer.oxygen_clean,
        use_gas=newcomer.use_gas,
        life=Life.CONDEMNED if newcomer.condemned_by_marks else Life.IN_SERVICE,
    )
    return _open(cylinder, arrival, new=True, at=at, by=by)


_HERE_ALREADY = phrase(
    "This cylinder is in the house already (order {open_visit}). Go on with that one."
)


@transaction.atomic
def receive_again(
    *,
    cylinder_id: int,
    arrival: Arrival,
    at: dt.datetime,
    by: Actor,
) -> WorkOrder:
    """Open a work order for a cylinder that the service knows.

    Raises :class:`Refused` while an earlier visit is still open.
    """
    _check(arrival)
    cylinder = history.lock(cylinder_id)
    open_visit = cylinder.work_orders.filter(closed_at__isnull=True).first()
    if open_visit:
        raise Refused(
            "visit_open",
            say(_HERE_ALREADY, open_visit=open_visit.pk),
        )
    return _open(cylinder, arrival, new=False, at=at, by=by)


def _open(
    cylinder: Cylinder,
    arrival: Arrival,
    *,
    new: bool,
    at: dt.datetime,
    by: Actor,
) -> WorkOrder:
    stage = Stage.CONDEMNED if cylinder.life == Life.CONDEMNED else Stage.RECEIVED
    order = WorkOrder.objects.create(
        cylinder=cylinder,
        customer=cylinder.owner,
        stage=stage.value,
        services=list(arrival.services),
        condition=arrival.condition,
        pressure_on_arrival=arrival.pressure_on_arrival,
        opened_at=at,
        moved_at=at,
    )
    received = Received(
        work_order=order.pk,
        owner=cylinder.owner_id,
        new=new,
        markings=Markings(**{name: getattr(cylinder, name) for name in MARKING_FIELDS}),
        decoded_sha256=history.digest_of_value(cylinder.decoded),
        services=list(arrival.services),
        last_visual=cylinder.last_visual,
        last_oxygen_clean=cylinder.last_oxygen_clean,
        oxygen_clean=cylinder.oxygen_clean,
        use_gas=cylinder.use_gas,
        pressure_on_arrival=arrival.pressure_on_arrival,
        condition=arrival.condition,
        condemned_by_marks=cylinder.life == Life.CONDEMNED,
    )
    history.append(cylinder, received, at=at, by=by)
    filing.put_with(cylinder, order, arrival.photos, Shows.WHOLE, at=at, by=by)
    return order


def _check(arrival: Arrival) -> None:
    unknown = [name for name in arrival.services if name not in Service.values]
    if unknown:
        raise Refused(
            "unknown_service",
            say(
                "No such service: {unknown}. Choose from {values}.",
                unknown=", ".join(unknown),
                values=", ".join(Service.values),
            ),
        )


def _owner(owner_id: int) -> Customer:
    owner = Customer.objects.filter(pk=owner_id).first()
    if owner is None:
        raise Refused("unknown_customer", say("Choose the customer, or add a new one first."))
    return owner
