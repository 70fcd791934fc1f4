"""Ready, and collected; also the cylinder that its owner takes back unfinished."""

import datetime as dt

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, Collected, OwnerChanged, Ready, Withdrawn
from cylinders.models import Customer, Cylinder, Part, Whereabouts, WorkOrder
from cylinders.operations import visit
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Stage, Step
from cylinders.rules.wording import say, together


@transaction.atomic
def call_ready(*, work_order_id: int, at: dt.datetime, by: Actor) -> WorkOrder:
    """Say that the customer may come."""
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.CALL_READY)
    visit.must_be_in_service(cylinder)
    visit.move(order, Step.CALL_READY, at=at)
    history.append(cylinder, Ready(work_order=order.pk), at=at, by=by)
    return order


@transaction.atomic
def hand_over(*, work_order_id: int, to_owner: bool, at: dt.datetime, by: Actor) -> WorkOrder:
    """Close the visit: the cylinder leaves, with any part that is still in its bag.

    A ready cylinder leaves with every part fitted or accounted for; one that was rejected,
    condemned or withdrawn leaves with its bags, which are thereby accounted for.
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.HAND_OVER)
    if order.stage == Stage.READY:
        visit.must_be_in_service(cylinder)  # a late record may have ended its life since
    bagged = list(order.parts.select_for_update().filter(whereabouts=Whereabouts.BAGGED))
    if bagged and order.stage == Stage.READY:
        raise Refused(
            "part_unaccounted",
            say(
                "Still in its bag: {parts}. Fit it or account for it first.",
                parts=together(map(str, bagged), by=", "),
            ),
        )
    Part.objects.filter(pk__in=[part.pk for part in bagged]).update(
        whereabouts=Whereabouts.ACCOUNTED,
        settled_how="handed over with the cylinder",
        settled_at=at,
        settled_by_id=by.staff_id,
    )
    visit.move(order, Step.HAND_OVER, at=at)
    order.closed_at = at
    order.save(update_fields=["closed_at"])
    facts = Collected(
        work_order=order.pk,
        to_owner=to_owner,
        returned_parts=[part.pk for part in bagged],
    )
    history.append(cylinder, facts, at=at, by=by)
    return order


@transaction.atomic
def withdraw(*, work_order_id: int, reason: str, at: dt.datetime, by: Actor) -> WorkOrder:
    """Stop the work because the owner wants the cylinder back as it is."""
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.WITHDRAW)
    if not reason.strip():
        raise Refused("no_reason", say("Write why the owner takes it back."))
    if order.stage == Stage.AT_LAB:
        raise Refused("at_lab", say("It is at the lab. Take it back in first."))
    visit.move(order, Step.WITHDRAW, at=at)
    history.append(cylinder, Withdrawn(work_order=order.pk, reason=reason), at=at, by=by)
    return order


@transaction.atomic
def change_owner(*, cylinder_id: int, owner_id: int, at: dt.datetime, by: Actor) -> Cylinder:
    """Record that the cylinder now belongs to somebody else."""
    cylinder = history.lock(cylinder_id)
    owner = Customer.objects.filter(pk=owner_id).first()
    if owner is None:
        raise Refused("unknown_customer", say("Choose the new owner, or add a customer first."))
    if owner.pk == cylinder.owner_id:
        raise Refused("same_owner", say("It belongs to {owner} already.", owner=owner.name))
    facts = OwnerChanged(was=cylinder.owner_id, becomes=owner.pk)
    cylinder.owner = owner
    cylinder.save(update_fields=["owner"])
    history.append(cylinder, facts, at=at, by=by)
    return cylinder
