"""Taking a cylinder down: proven empty first, then part by part, then closed."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, PartRemoved, ProvenEmpty, TornDown
from cylinders.models import Cylinder, Part, PartKind, WorkOrder
from cylinders.operations import visit
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Step
from cylinders.rules.wording import say


@dataclass(frozen=True, slots=True)
class Removal:
    """One part as it came off; ``shared_with`` is the other cylinder of a twin set."""

    kind: str
    name: str = ""
    thread: str = ""
    outlet: str = ""
    serial: str = ""
    oxygen_clean: bool = False
    condition: str = ""
    shared_with: int | None = None


@transaction.atomic
def prove_empty(*, work_order_id: int, how: str, at: dt.datetime, by: Actor) -> WorkOrder:
    """Record that the cylinder was drained and shown to be empty, and how that was seen."""
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.PROVE_EMPTY)
    if not how.strip():
        raise Refused(
            "how_empty", say("Write how you know that it is empty, e.g. valve open, no hiss.")
        )
    if order.proven_empty:
        raise Refused("already_empty", say("It was proven empty already. Go on with the parts."))
    order.proven_empty = True
    order.save(update_fields=["proven_empty"])
    history.append(cylinder, ProvenEmpty(work_order=order.pk, how=how), at=at, by=by)
    return order


@transaction.atomic
def remove_part(*, work_order_id: int, removal: Removal, at: dt.datetime, by: Actor) -> Part:
    """Record one part that came off and goes into its bag."""
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.REMOVE_PART)
    _check_removal(removal, order)
    _check_twin(removal, cylinder)
    part = Part.objects.create(
        cylinder=cylinder,
        work_order=order,
        kind=removal.kind,
        name=removal.name,
        thread=removal.thread,
        outlet=removal.outlet,
        serial=removal.serial,
        oxygen_clean=removal.oxygen_clean,
        condition=removal.condition,
        shared_with_id=removal.shared_with,
    )
    removed = PartRemoved(
        work_order=order.pk,
        part=part.pk,
        part_kind=removal.kind,
        name=removal.name,
        thread=removal.thread,
        outlet=removal.outlet,
        serial=removal.serial,
        oxygen_clean=removal.oxygen_clean,
        condition=removal.condition,
        shared_with=removal.shared_with,
    )
    history.append(cylinder, removed, at=at, by=by)
    return part


@transaction.atomic
def finish(
    *,
    work_order_id: int,
    outside: str,
    travel_plug: bool,
    at: dt.datetime,
    by: Actor,
) -> WorkOrder:
    """Close the teardown: outside looked over, everything off, travel plug in.

    ``outside`` is "sound" or what was seen; anything but "sound" is refused here, because dents,
    bulges, arc or heat marks and corrosion end the trip (reject or condemn instead).
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.FINISH_TEARDOWN)
    if not order.proven_empty:
        raise Refused("not_proven_empty", say("Drain it and prove it empty first."))
    if outside != "sound":
        raise Refused(
            "outside_not_sound",
            say(
                "Seen outside: {outside}. Do not send it on: reject or condemn it instead.",
                outside=outside,
            ),
            "49 CFR 180.205(d)",
        )
    if not travel_plug:
        raise Refused("no_travel_plug", say("Put the travel plug in, then close the teardown."))
    if not order.parts.filter(kind__in=(PartKind.VALVE, PartKind.MANIFOLD)).exists():
        raise Refused("no_valve", say("No valve was recorded. Record the valve that came out."))
    visit.move(order, Step.FINISH_TEARDOWN, at=at)
    done = TornDown(work_order=order.pk, outside=outside, travel_plug=travel_plug)
    history.append(cylinder, done, at=at, by=by)
    return order


def _check_twin(removal: Removal, cylinder: Cylinder) -> None:
    if removal.shared_with is None:
        return
    if removal.shared_with == cylinder.pk:
        raise Refused(
            "own_twin", say("That is this cylinder itself. Name the other one of the set.")
        )
    if not Cylinder.objects.filter(pk=removal.shared_with).exists():
        raise Refused(
            "unknown_twin", say("The other cylinder of the set is not known. Scan its tag.")
        )


def _check_removal(removal: Removal, order: WorkOrder) -> None:
    kinds = ", ".join(PartKind.values)
    if removal.kind not in PartKind.values:
        raise Refused(
            "unknown_part_kind",
            say("No such part: {kind}. Choose from {kinds}.", kind=removal.kind, kinds=kinds),
        )
    if removal.kind == PartKind.OTHER and not removal.name.strip():
        raise Refused(
            "part_without_name", say("Give the part a name, so that it can be told apart.")
        )
    under_pressure = removal.kind in (PartKind.VALVE, PartKind.MANIFOLD)
    if under_pressure and not order.proven_empty:
        raise Refused(
            "not_proven_empty",
            say("The valve stays in until the cylinder is drained and proven empty."),
        )
    if under_pressure and not removal.thread.strip():
        raise Refused("thread_missing", say("Read the thread off the valve and write it down."))
