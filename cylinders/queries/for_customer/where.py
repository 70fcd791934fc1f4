"""Where a cylinder is, in plain words, and how far its visit has come."""

import datetime as dt
from dataclasses import dataclass

from cylinders.models import Cylinder, Service, WorkOrder
from cylinders.rules.stages import EXITS, Stage


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
    Stage.RECEIVED: ("At the shop", "It waits to be drained and taken apart."),
    Stage.TORN_DOWN: (
        "At the shop, taken apart",
        "Every part is tagged, and the valve lies in its own bag.",
    ),
    Stage.AT_LAB: (
        "At the test lab{lab}",
        "The lab tests it under water pressure. Its parts stay with us, tagged.",
    ),
    Stage.BACK: (
        "Back at the shop",
        "We compare the lab's record with the new stamp, then inspect it.",
    ),
    Stage.INSPECTED: ("At the shop, inspected", "Its own parts go back on next."),
    Stage.REASSEMBLED: ("At the shop, put back together", "All its parts are accounted for."),
    Stage.FILLED: ("At the shop, filled", "We check it once more before we call you."),
    Stage.READY: ("Ready for you", "You can collect it."),
    Stage.COLLECTED: ("With you", "It has left the shop."),
    Stage.REJECTED: (
        "Rejected",
        "It may not be used as it is. We will tell you in writing why, and what can be done.",
    ),
    Stage.CONDEMNED: (
        "Condemned",
        "It may never be filled or used again. You get a written notice with the reason.",
    ),
    Stage.WITHDRAWN: ("Work stopped", "You asked for it back unfinished. You can collect it."),
}
_TONES = {
    Stage.READY: "ok",
    Stage.COLLECTED: "ok",
    Stage.REJECTED: "fail",
    Stage.CONDEMNED: "fail",
}
_STEPS = (
    (Stage.RECEIVED, "Dropped off"),
    (Stage.TORN_DOWN, "Taken apart"),
    (Stage.AT_LAB, "At the lab"),
    (Stage.BACK, "Back"),
    (Stage.INSPECTED, "Inspected"),
    (Stage.REASSEMBLED, "Put together"),
    (Stage.FILLED, "Filled"),
    (Stage.READY, "Ready"),
)
_ON_THE_WAY = frozenset(stage for stage, _ in _STEPS)


def where_is(cylinder: Cylinder) -> Where:
    """Where ``cylinder`` is: at a stage of its open visit, or with its owner."""
    order = cylinder.work_orders.order_by("-opened_at", "-pk").first()
    if order is None:
        return Where("Known to the shop", "It has not been here yet.", "unknown", None)
    stage = Stage(order.stage)
    if order.closed_at is not None and cylinder.life != "in_service":
        return Where(
            f"With you, {cylinder.get_life_display()}",
            "It may not be filled or used.",
            "fail",
            order.closed_at,
        )
    heading, says = _WORDS[stage]
    return Where(
        heading=heading.format(lab=_lab(order)),
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
