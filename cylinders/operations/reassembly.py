"""Every part back onto its own cylinder, or somebody answers for it. A wrong part never fits."""

import datetime as dt

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, PartAccounted, PartServiced, Reassembled
from cylinders.models import Part, PartKind, Whereabouts, WorkOrder
from cylinders.operations import visit
from cylinders.rules.month import Month
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Step
from cylinders.rules.wording import say, together

#: What can become of a part that is not fitted.
ENDINGS = {
    "replaced": say("replaced by a new one"),
    "lost": "lost",
    "discarded": say("worn out and discarded"),
    "kept_by_owner": say("given to the owner"),
}
_SEALED = (PartKind.VALVE, PartKind.MANIFOLD)


@transaction.atomic
def service_part(
    *,
    work_order_id: int,
    part_id: int,
    o_rings: str,
    lubricant: str,
    oxygen_compatible: bool,
    hand_wheel: str,
    on: dt.date,
    at: dt.datetime,
    by: Actor,
) -> Part:
    """Record that a valve was serviced: which O-rings, which lubricant, the hand wheel.

    A valve that is clean for oxygen keeps that only with oxygen-compatible lubricant and O-rings.
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.SERVICE_PART)
    part = _part_of(order, part_id)
    if part.kind not in _SEALED:
        raise Refused(
            "not_a_valve",
            say("A {part} is not serviced here; only valves and manifolds.", part=part),
        )
    if not o_rings.strip() or not lubricant.strip():
        raise Refused("no_o_rings", say("Write which O-rings and which lubricant went in."))
    if part.oxygen_clean and not oxygen_compatible:
        raise Refused(
            "not_oxygen_compatible",
            say("This valve is clean for oxygen. Use oxygen-compatible O-rings and lubricant."),
        )
    part.serviced = str(Month.of(on))
    part.save(update_fields=["serviced"])
    cylinder.last_valve_service = part.serviced
    cylinder.save(update_fields=["last_valve_service"])
    facts = PartServiced(
        work_order=order.pk,
        part=part.pk,
        o_rings=o_rings,
        lubricant=lubricant,
        oxygen_compatible=oxygen_compatible,
        hand_wheel=hand_wheel,
        month=part.serviced,
    )
    history.append(cylinder, facts, at=at, by=by)
    return part


@transaction.atomic
def account_part(
    *,
    work_order_id: int,
    part_id: int,
    how: str,
    note: str,
    at: dt.datetime,
    by: Actor,
) -> Part:
    """Say what became of a part that will not be fitted; ``how`` is one of :data:`ENDINGS`."""
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.FIT_PART)
    part = _part_of(order, part_id)
    if how not in ENDINGS:
        raise Refused("unknown_ending", say("Say one of: {endings}.", endings=", ".join(ENDINGS)))
    if not note.strip():
        raise Refused("no_reason", say("Write a word about it: who looked, what took its place."))
    settled = Part.objects.filter(pk=part.pk, whereabouts=Whereabouts.BAGGED).update(
        whereabouts=Whereabouts.ACCOUNTED,
        settled_how=f"{ENDINGS[how]}: {note}"[:200],
        settled_at=at,
        settled_by_id=by.staff_id,
    )
    if not settled:
        raise Refused(
            "not_in_its_bag",
            say(
                "The {part} is {whereabouts_display} already.",
                part=part,
                whereabouts_display=part.get_whereabouts_display(),
            ),
        )
    facts = PartAccounted(work_order=order.pk, part=part.pk, how=how, note=note)
    history.append(cylinder, facts, at=at, by=by)
    part.refresh_from_db()
    return part


@transaction.atomic
def finish(*, work_order_id: int, at: dt.datetime, by: Actor) -> WorkOrder:
    """Close the reassembly: every part is on its cylinder or accounted for by name."""
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.FINISH_REASSEMBLY)
    visit.must_be_in_service(cylinder)
    parts = list(order.parts.select_for_update().order_by("pk"))
    bagged = [part for part in parts if part.whereabouts == Whereabouts.BAGGED]
    if bagged:
        loose = together(map(str, bagged), by=", ")
        says = say("Still in its bag: {parts}. Fit it or account for it.", parts=loose)
        raise Refused("part_unaccounted", says)
    visit.move(order, Step.FINISH_REASSEMBLY, at=at)
    facts = Reassembled(
        work_order=order.pk,
        fitted=[part.pk for part in parts if part.whereabouts == Whereabouts.FITTED],
        accounted=[part.pk for part in parts if part.whereabouts == Whereabouts.ACCOUNTED],
    )
    history.append(cylinder, facts, at=at, by=by)
    return order


def _part_of(order: WorkOrder, part_id: int) -> Part:
    part = order.parts.select_for_update().filter(pk=part_id).first()
    if part is None:
        raise Refused("unknown_part", say("That part was not taken off at this visit."))
    return part
