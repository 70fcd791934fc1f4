"""How every step at the bench begins and ends: lock, look at the stage, move on."""

import datetime as dt

from cylinders import history
from cylinders.models import Cylinder, Life, WorkOrder
from cylinders.rules.eddy_current import Sight, judge_sights
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import STEPS, Stage, Step, check
from cylinders.rules.wording import say

#: What an indication at the neck leaves to do before a second person has looked at it.
_WHILE_WAITING = frozenset(
    {Step.INSPECT, Step.SERVICE_PART, Step.UNPACK, Step.REJECT, Step.CONDEMN}
)


def begin(*, work_order_id: int, step: Step) -> tuple[Cylinder, WorkOrder]:
    """Lock the cylinder of a work order and pass when ``step`` may happen now.

    Raises :class:`Refused` for an unknown order and for a step out of order. The stage is read
    after the lock was taken, so the second of two people sees what the first one did.
    """
    found = WorkOrder.objects.filter(pk=work_order_id).values_list("cylinder_id", flat=True).first()
    if found is None:
        raise Refused(
            "unknown_order",
            say(
                "There is no work order {work_order_id}. Scan the tag.", work_order_id=work_order_id
            ),
        )
    cylinder = history.lock(found)
    order = WorkOrder.objects.select_for_update().get(pk=work_order_id)
    check(step, Stage(order.stage))
    if step not in _WHILE_WAITING:
        must_not_wait(order)
    return cylinder, order


def must_not_wait(order: WorkOrder) -> None:
    """Refuse to go on while an eddy current indication waits for a second person's look."""
    if order.stage not in STEPS[Step.INSPECT].allowed_at:
        return
    waiting = order.inspections.filter(result="waiting").first()
    if waiting:
        finding = judge_sights(Sight(waiting.eddy_current))
        raise Refused("second_look_waits", finding.says, str(finding.cites))


def must_be_in_service(cylinder: Cylinder) -> None:
    """Refuse to work on a cylinder that was rejected or condemned."""
    if cylinder.life != Life.IN_SERVICE:
        raise Refused(
            f"cylinder_{cylinder.life}",
            say(
                "This cylinder is {life}. It gets no further work: give the owner the "
                "written notice.",
                life=cylinder.life,
            ),
            "49 CFR 180.205(h)-(i)",
        )


def move(order: WorkOrder, step: Step, *, at: dt.datetime) -> None:
    """Put ``order`` at the stage that ``step`` leads to, since ``at``.

    A cylinder that was packed and does not go to the lab after all leaves the run that is being
    packed, or that run could never be sent.
    """
    stage = STEPS[step].leads_to
    if stage is None:
        raise ValueError(f"{step} does not move an order")
    if order.stage == Stage.TORN_DOWN and stage is not Stage.AT_LAB:
        order.lines.filter(consignment__sent_at__isnull=True).delete()
    order.stage = stage.value
    order.moved_at = at
    order.save(update_fields=["stage", "moved_at"])
