"""A fill: allowed by the rules with its limits said, or refused with every reason at once."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, Filled, FillRefused
from cylinders.models import Cylinder, Fill, WorkOrder
from cylinders.operations import visit
from cylinders.queries.due import fill_verdict
from cylinders.rules.gas import Depth, DepthUnit, MixError, mod
from cylinders.rules.quantity import Quantity, QuantityError, read_number
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Stage, Step
from cylinders.rules.status import FillVerdict
from cylinders.rules.verdict import Finding
from cylinders.rules.wording import say


@dataclass(frozen=True, slots=True)
class FillOutcome:
    """What came of asking for a fill; ``reasons`` say why not, ``notes`` what else to know."""

    allowed: bool
    reasons: tuple[Finding, ...]
    notes: tuple[Finding, ...]
    max_pressure: Quantity | None
    fill: Fill | None = None


@transaction.atomic
def fill(
    *,
    work_order_id: int,
    oxygen_fraction: str,
    pressure: Quantity,
    on: dt.date,
    at: dt.datetime,
    by: Actor,
    relief_is_disc: bool | None = None,
) -> FillOutcome:
    """Record a fill of an analysed mix (``"0.32"``) to ``pressure`` at 21 C, or refuse it.

    ``relief_is_disc`` is what the filler saw on the valve: a frangible disc without fuse metal,
    without which nothing is filled over the marked pressure; None when nobody looked. A refusal is
    an outcome and an event of its own. Raises :class:`Refused` for a step out of order, for a
    cylinder that is in pieces, and for figures that cannot be.
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.FILL)
    if order.stage == Stage.RECEIVED and (order.proven_empty or order.parts.exists()):
        raise Refused("in_pieces", say("It is being taken down. Put it together before a fill."))
    depth, verdict = _judge(cylinder, oxygen_fraction, pressure, relief_is_disc, on=on)
    if not verdict.allowed:
        facts = FillRefused(
            work_order=order.pk,
            oxygen_fraction=oxygen_fraction,
            pressure=f"{pressure.value:f}",
            pressure_unit=pressure.unit,
            reasons=[reason.code for reason in verdict.reasons],
        )
        history.append(cylinder, facts, at=at, by=by)
        return _outcome(verdict, None)
    done = _store(order, oxygen_fraction, pressure, depth.says, at=at)
    visit.move(order, Step.FILL, at=at)
    filled = Filled(
        work_order=order.pk,
        fill=done.pk,
        oxygen_fraction=done.oxygen_fraction,
        pressure=done.pressure,
        pressure_unit=done.pressure_unit,
        mod=done.mod,
        cautions=[note.code for note in verdict.notes],
        relief_is_disc=relief_is_disc,
    )
    history.append(cylinder, filled, at=at, by=by)
    return _outcome(verdict, done)


def _judge(
    cylinder: Cylinder,
    oxygen_fraction: str,
    pressure: Quantity,
    relief_is_disc: bool | None,  # noqa: FBT001 - private, and handed on as it came
    *,
    on: dt.date,
) -> tuple[Depth, FillVerdict]:
    try:
        share = read_number(oxygen_fraction)
        depth = mod(fo2=share, unit=_depth_unit(pressure))
        verdict = fill_verdict(
            cylinder,
            on=on,
            fo2=share,
            requested_pressure=pressure,
            relief_is_disc=relief_is_disc,
        )
    except (MixError, QuantityError) as problem:
        raise Refused("bad_value", f"{problem}".rstrip(".") + ".") from problem
    return depth, verdict


def _store(
    order: WorkOrder,
    oxygen_fraction: str,
    pressure: Quantity,
    depth: str,
    *,
    at: dt.datetime,
) -> Fill:
    return Fill.objects.create(
        cylinder_id=order.cylinder_id,
        work_order=order,
        filled_at=at,
        oxygen_fraction=oxygen_fraction,
        pressure=f"{pressure.value:f}",
        pressure_unit=pressure.unit,
        mod=depth,
    )


def _depth_unit(pressure: Quantity) -> DepthUnit:
    return DepthUnit.FSW if pressure.unit == "psi" else DepthUnit.MSW


def _outcome(verdict: FillVerdict, done: Fill | None) -> FillOutcome:
    return FillOutcome(
        allowed=done is not None,
        reasons=verdict.reasons,
        notes=verdict.notes,
        max_pressure=verdict.max_pressure,
        fill=done,
    )
