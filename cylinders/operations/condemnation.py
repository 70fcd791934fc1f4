"""The ends of a cylinder's life: rejected until repaired, condemned for ever."""

import datetime as dt

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, Condemned, Rejected
from cylinders.models import Life, WorkOrder
from cylinders.operations import visit
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Stage, Step
from cylinders.rules.wording import say


@transaction.atomic
def reject(*, work_order_id: int, reason: str, at: dt.datetime, by: Actor) -> WorkOrder:
    """Take a cylinder out of use until it is repaired and requalified: 49 CFR 180.205(h)."""
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.REJECT)
    _must_be_here(order)
    _need(reason, say("Write what was found, as it will stand in the owner's written notice."))
    if cylinder.life == Life.CONDEMNED:
        raise Refused(
            "cylinder_condemned", say("It is condemned already; that cannot become less.")
        )
    cylinder.life = Life.REJECTED
    cylinder.save(update_fields=["life"])
    visit.move(order, Step.REJECT, at=at)
    history.append(cylinder, Rejected(work_order=order.pk, reason=reason), at=at, by=by)
    return order


@transaction.atomic
def condemn(
    *,
    work_order_id: int,
    reason: str,
    marked: str,
    at: dt.datetime,
    by: Actor,
) -> WorkOrder:
    """Take a cylinder out of use for ever: 49 CFR 180.205(i).

    ``marked`` says what was stamped and by whom: X over specification and pressure, or CONDEMNED;
    it is the requalifier who marks. Nothing in this service can undo it.
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.CONDEMN)
    _must_be_here(order)
    _need(reason, say("Write what was found, as it will stand in the owner's written notice."))
    _need(marked, say("Write how it is marked and by whom, or that it still has to be marked."))
    cylinder.life = Life.CONDEMNED
    cylinder.save(update_fields=["life"])
    visit.move(order, Step.CONDEMN, at=at)
    facts = Condemned(work_order=order.pk, reason=reason, marked=marked)
    history.append(cylinder, facts, at=at, by=by)
    return order


def _must_be_here(order: WorkOrder) -> None:
    if order.stage == Stage.AT_LAB:
        raise Refused("at_lab", say("It is at the lab. Take it back in first."))


def _need(text: str, ask: str) -> None:
    if not text.strip():
        raise Refused("no_reason", ask)
