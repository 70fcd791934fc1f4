"""Work in hand: every open visit by stage, what waits longest first."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Count, Q

from cylinders.models import Service, Whereabouts, WorkOrder
from cylinders.rules.stages import BOARD, NEXT, Stage


@dataclass(frozen=True, slots=True)
class Row:
    """One open visit on the board; ``waits`` counts from its last move."""

    order: WorkOrder
    waits: dt.timedelta
    bagged: int
    then: str


@dataclass(frozen=True, slots=True)
class Column:
    """One stage with its visits, oldest first."""

    stage: Stage
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class NextAction:
    """The one obvious thing to do next with a visit: a stable name and a sentence."""

    name: str
    says: str


def board(*, now: dt.datetime) -> tuple[Column, ...]:
    """Every open visit by stage in the order of the work; one query whatever the size."""
    orders = (
        WorkOrder.objects.filter(closed_at__isnull=True)
        .select_related("cylinder", "customer")
        .annotate(bagged=Count("parts", filter=Q(parts__whereabouts=Whereabouts.BAGGED)))
        .order_by("moved_at", "pk")
    )
    by_stage: dict[str, list[Row]] = {stage.value: [] for stage in BOARD}
    for order in orders:
        then = _says(Stage(order.stage))
        row = Row(order=order, waits=now - order.moved_at, bagged=order.bagged, then=then)
        by_stage[order.stage].append(row)
    return tuple(Column(stage, tuple(by_stage[stage.value])) for stage in BOARD)


def next_action(order: WorkOrder) -> NextAction:
    """What to do next with ``order``; the name is one of the table below.

    prove_empty, teardown, pack, send, take_back, compare_stamp, inspect, reassemble, fill,
    call_ready, hand_over, closed.
    """
    stage = Stage(order.stage)
    name = _NAMES.get(stage) or _choose(order, stage)
    return NextAction(name, _says(stage))


def _says(stage: Stage) -> str:
    """The sentence is the stage's alone, so the board need not look further into each visit."""
    return NEXT[stage][1]


_NAMES = {
    Stage.AT_LAB: "take_back",
    Stage.INSPECTED: "reassemble",
    Stage.FILLED: "call_ready",
    Stage.READY: "hand_over",
    Stage.REJECTED: "hand_over",
    Stage.CONDEMNED: "hand_over",
    Stage.WITHDRAWN: "hand_over",
    Stage.COLLECTED: "closed",
}


def _choose(order: WorkOrder, stage: Stage) -> str:
    if stage is Stage.RECEIVED:
        return "teardown" if order.proven_empty else "prove_empty"
    if stage is Stage.REASSEMBLED:
        return "fill" if Service.FILL in order.services else "call_ready"
    wants_test = Service.REQUALIFICATION in order.services
    if stage is Stage.BACK:
        return "compare_stamp" if wants_test and not order.stamp_agrees else "inspect"
    if not wants_test:
        return "inspect"
    return "send" if order.lines.filter(returned_at__isnull=True).exists() else "pack"
