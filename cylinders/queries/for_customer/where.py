"""Where a cylinder is, in plain words, and how far its visit has come."""

import datetime as dt
from dataclasses import dataclass

from cylinders.models import Cylinder, Service, WorkOrder
from cylinders.rules.stages import EXITS, Stage
from cylinders.rules.wording import phrase, say


@dataclass(frozen=True, slots=True)
class StepDone:
    """One step of the way: ``state`` is "done", "here" or "ahead"."""

    name: str
    state: str


@dataclass(frozen=True, slots=True)
class Where:
    """``heading`` is short, ``says`` tells what happens next; ``since`` is when it came there."""

    heading: str
    says: str
    tone: str
    since: dt.datetime | None
    steps: tuple[StepDone, ...] = ()


_WORDS: dict[Stage, tuple[str, str]] = {
    Stage.RECEIVED: (say("At the shop"), say("It waits to be drained and taken apart.")),
    Stage.TORN_DOWN: (
        say("At the shop, taken apart"),
        say("Every part is tagged, and the valve lies in its own bag."),
    ),
    Stage.AT_LAB: (
        phrase("At the test lab{lab}"),
        say("The lab tests it under water pressure. Its parts stay with us, tagged."),
    ),
    Stage.BACK: (
        say("Back at the shop"),
        say("We compare the lab's record with the new stamp, then inspect it."),
    ),
    Stage.INSPECTED: (say("At the shop, inspected"), say("Its own parts go back on next.")),
    Stage.REASSEMBLED: (
        say("At the shop, put back together"),
        say("All its parts are accounted for."),
    ),
    Stage.FILLED: (say("At the shop, filled"), say("We check it once more before we call you.")),
    Stage.READY: (say("Ready for you"), say("You can collect it.")),
    Stage.COLLECTED: (say("With you"), say("It has left the shop.")),
    Stage.REJECTED: (
        say("Rejected"),
        say("It may not be used as it is. We will tell you in writing why, and what can be done."),
    ),
    Stage.CONDEMNED: (
        say("Condemned"),
        say("It may never be filled or used again. You get a written notice with the reason."),
    ),
    Stage.WITHDRAWN: (
        say("Work stopped"),
        say("You asked for it back unfinished. You can collect it."),
    ),
}
_TONES = {
    Stage.READY: "ok",
    Stage.COLLECTED: "ok",
    Stage.REJECTED: "fail",
    Stage.CONDEMNED: "fail",
}
_STEPS = (
    (Stage.RECEIVED, say("Dropped off")),
    (Stage.TORN_DOWN, say("Taken apart")),
    (Stage.AT_LAB, say("At the lab")),
    (Stage.BACK, say("Back")),
    (Stage.INSPECTED, say("Inspected")),
    (Stage.REASSEMBLED, say("Put together")),
    (Stage.FILLED, say("Filled")),
    (Stage.READY, say("Ready")),
)
_ON_THE_WAY = frozenset(stage for stage, _ in _STEPS)


def where_is(cylinder: Cylinder) -> Where:
    """Where ``cylinder`` is: at a stage of its open visit, or with its owner."""
    order = cylinder.work_orders.order_by("-opened_at", "-pk").first()
    if order is None:
        return Where(say("Known to the shop"), say("It has not been here yet."), "unknown", None)
    stage = Stage(order.stage)
    if order.closed_at is not None and cylinder.life != "in_service":
        heading = say("With you, {life}", life=cylinder.get_life_display())
        return Where(heading, say("It may not be filled or used."), "fail", order.closed_at)
    heading, says = _WORDS[stage]
    return Where(
        heading=say(heading, lab=_lab(order)) if "{" in heading else heading,
        says=says,
        tone=_TONES.get(stage, "caution" if stage in EXITS else "here"),
        since=order.moved_at,
        steps=_steps(order, stage) if stage in _ON_THE_WAY else (),
    )


def _lab(order: WorkOrder) -> str:
    line = order.lines.select_related("consignment__lab").order_by("-pk").first()
    return f", {line.consignment.lab.name}" if line else ""


def _steps(order: WorkOrder, stage: Stage) -> tuple[StepDone, ...]:
    wanted = set(order.services)
    left_out = set()
    if Service.REQUALIFICATION not in wanted:
        left_out |= {Stage.AT_LAB, Stage.BACK}
    if Service.FILL not in wanted:
        left_out |= {Stage.FILLED}
    names = [(step, name) for step, name in _STEPS if step not in left_out or step is stage]
    place = [step for step, _ in names].index(stage)
    return tuple(
        StepDone(name, "done" if n < place else "here" if n == place else "ahead")
        for n, (_, name) in enumerate(names)
    )
