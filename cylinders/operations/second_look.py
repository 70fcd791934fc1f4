"""A second person looks at what the eddy current examination showed, before anything passes."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, Kind, SecondLooked
from cylinders.models import Inspection
from cylinders.operations import inspection as inspecting
from cylinders.operations import visit
from cylinders.rules.eddy_current import Sight, judge_sights
from cylinders.rules.month import Month
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Step
from cylinders.rules.wording import say


@dataclass(frozen=True, slots=True)
class SecondLook:
    """What another person saw: ``seen`` is "clear" or "crack"; ``trace`` a kept file's number."""

    seen: str
    notes: str
    trace: int | None = None


@transaction.atomic
def record(
    *, work_order_id: int, again: SecondLook, on: dt.date, at: dt.datetime, by: Actor
) -> Inspection:
    """Record what a second person saw of an eddy current indication; the order goes on or ends.

    Raises :class:`Refused` where nothing waits, and where it is the person who inspected.
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.INSPECT)
    visit.must_be_in_service(cylinder)
    inspection = order.inspections.filter(result="waiting").first()
    if inspection is None:
        raise Refused("nothing_waits", say("No indication waits for a second look here."))
    if again.seen not in (Sight.CLEAR, Sight.CRACK):
        raise Refused("bad_value", say("Say clear or crack."))
    if not again.notes.strip():
        raise Refused("no_reason", say("Write how you looked at it, and what it was."))
    _must_be_another(inspection, by)
    finding = judge_sights(Sight(inspection.eddy_current), Sight(again.seen))
    inspection.result = "passed" if finding.passed else "condemned"
    inspection.second_look, inspection.second_notes = again.seen, again.notes
    inspection.save(update_fields=["result", "second_look", "second_notes"])
    month = str(Month.of(on))
    inspecting.end(cylinder, order, inspection.result, month, at=at)
    facts = SecondLooked(
        work_order=order.pk,
        inspection=inspection.pk,
        seen=again.seen,
        result=inspection.result,
        month=month,
        notes=again.notes,
    )
    history.append(cylinder, facts, at=at, by=by)
    if again.trace is not None:
        inspecting.attach_trace(inspection, cylinder, again.trace, at=at, by=by)
    return inspection


def _must_be_another(inspection: Inspection, by: Actor) -> None:
    """Refuse the one who inspected, and whoever is no person: the history says who it was."""
    first = next(
        entry.by
        for entry in history.timeline(inspection.cylinder_id)
        if entry.kind is Kind.INSPECTED and entry.facts["inspection"] == inspection.pk
    )
    if by.kind != "staff" or str(by) == first:
        says = say("You have looked at it already. Ask another person to sign in and look.")
        raise Refused("same_person", says, str(judge_sights(Sight.INDICATION).cites))
