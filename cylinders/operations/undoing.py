"""A scan too many is undone: by an event of its own, never by taking one away.

Only what the next step has not built upon can be undone; later mistakes are put right by doing the
work again.
"""

import datetime as dt

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, PartUnfitted, ReturnUndone, Unpacked
from cylinders.models import Consignment, Part, Whereabouts, WorkOrder
from cylinders.operations import visit
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Step
from cylinders.rules.wording import say


@transaction.atomic
def unfit_part(*, work_order_id: int, part_id: int, at: dt.datetime, by: Actor) -> Part:
    """Put a part that was fitted at this visit back into its bag.

    A part of a twin set is undone where it came off; the event stands in the other history too
    where the part was fitted there. Raises
    :class:`Refused` when the part is not on its cylinder, or the reassembly is closed.
    """
    part = Part.objects.filter(pk=part_id, work_order_id=work_order_id).first()
    if part is None:
        raise Refused("unknown_part", say("That part was not taken off at this visit."))
    # In one order for everybody, so that two people who undo a twin's part cannot wait in a ring.
    for cylinder_id in sorted(filter(None, (part.cylinder_id, part.shared_with_id))):
        history.lock(cylinder_id)
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.UNFIT_PART)
    undone = Part.objects.filter(pk=part.pk, whereabouts=Whereabouts.FITTED).update(
        whereabouts=Whereabouts.BAGGED, settled_how="", settled_at=None, settled_by=None
    )
    part.refresh_from_db()
    if not undone:
        raise Refused(
            "not_fitted",
            say(
                "The {part} is {whereabouts_display}, not fitted.",
                part=part,
                whereabouts_display=part.get_whereabouts_display(),
            ),
        )
    facts = PartUnfitted(work_order=order.pk, part=part.pk)
    history.append(cylinder, facts, at=at, by=by)
    twin = part.shared_with_id
    if twin and history.state(twin).parts.get(part.pk) == Whereabouts.FITTED:
        history.append(history.lock(twin), facts, at=at, by=by)
    return part


@transaction.atomic
def unpack(*, work_order_id: int, at: dt.datetime, by: Actor) -> WorkOrder:
    """Take a cylinder out of the consignment that is being packed."""
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.UNPACK)
    line = order.lines.filter(consignment__sent_at__isnull=True).first()
    if line is None:
        raise Refused("not_packed", say("It is in no run that is being packed."))
    facts = Unpacked(work_order=order.pk, consignment=line.consignment_id)
    line.delete()
    history.append(cylinder, facts, at=at, by=by)
    return order


@transaction.atomic
def undo_return(*, work_order_id: int, at: dt.datetime, by: Actor) -> WorkOrder:
    """Say that a cylinder was scanned home by mistake: it is still at the lab.

    Refused once its new stamp was compared, since that cannot be done from afar.
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.UNDO_RETURN)
    if order.stamp_agrees is not None:
        raise Refused(
            "stamp_compared", say("Its new stamp was compared here, so it is here. Go on with it.")
        )
    line = order.lines.filter(returned_at__isnull=False).latest("pk")
    line.returned_at = None
    line.save(update_fields=["returned_at"])
    Consignment.objects.filter(pk=line.consignment_id).update(closed_at=None)
    visit.move(order, Step.UNDO_RETURN, at=at)
    facts = ReturnUndone(work_order=order.pk, consignment=line.consignment_id)
    history.append(cylinder, facts, at=at, by=by)
    return order
