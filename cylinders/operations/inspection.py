"""The shop's own inspection: inside, outside, threads; sticker off; result by a named standard."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, Inspected
from cylinders.models import (
    Cylinder,
    FileKind,
    Inspection,
    Life,
    RecordState,
    Service,
    Shows,
    WorkOrder,
)
from cylinders.operations import filing, visit
from cylinders.rules.eddy_current import Sight, judge_sights
from cylinders.rules.month import Month
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import STEPS, Stage, Step
from cylinders.rules.wording import say

SEEN = ("pass", "fail", "not_done")
#: How a failed inspection ends: rejected may be repaired, condemned never serves again.
ENDINGS = ("rejected", "condemned")


@dataclass(frozen=True, slots=True)
class Look:
    """What the inspector found.

    ``internal``, ``external`` and ``threads`` are "pass", "fail" or "not_done"; ``ending`` is asked
    for when something failed: "rejected" or "condemned". ``eddy_current`` is "clear" or
    "indication" where the neck was examined by eddy current here, else empty; ``trace`` is the
    number of a kept file. The shop's own examination is no requalification, so it renews no period.
    """

    standard: str
    internal: str
    external: str
    threads: str
    sticker_removed: bool
    ending: str = ""
    notes: str = ""
    eddy_current: str = ""
    eddy_equipment: str = ""
    eddy_ring: str = ""
    trace: int | None = None


@transaction.atomic
def record(
    *,
    work_order_id: int,
    look: Look,
    on: dt.date,
    at: dt.datetime,
    by: Actor,
) -> Inspection:
    """Record an inspection done on ``on``; the order moves on, or to the exit that ``look`` names.

    With an eddy current indication it stays where it is, and waits for a
    :mod:`second look <cylinders.operations.second_look>`.

    A cylinder that is back from the lab is inspected only after its new stamp agreed with the
    record, and one that came for requalification not before it has been to the lab.
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.INSPECT)
    visit.must_be_in_service(cylinder)
    visit.must_not_wait(order)
    _must_have_been_tested(order)
    result = _result(look)
    inspection = _store(cylinder, order, look, result, on=on)
    month = str(Month.of(on))
    end(cylinder, order, result, month, at=at)
    facts = Inspected(
        work_order=order.pk,
        inspection=inspection.pk,
        standard=look.standard,
        internal=look.internal,
        external=look.external,
        threads=look.threads,
        result=result,
        month=month,
        sticker_removed=look.sticker_removed,
        notes=look.notes,
        eddy_current=look.eddy_current,
        eddy_equipment=look.eddy_equipment,
        eddy_ring=look.eddy_ring,
    )
    history.append(cylinder, facts, at=at, by=by)
    if look.trace is not None:
        attach_trace(inspection, cylinder, look.trace, at=at, by=by)
    return inspection


def end(cylinder: Cylinder, order: WorkOrder, result: str, month: str, *, at: dt.datetime) -> None:
    """What a result does to the cylinder and the visit; one that waits does nothing yet."""
    if result == "waiting":
        return
    if result == "passed":
        cylinder.last_visual = month
        cylinder.save(update_fields=["last_visual"])
        visit.move(order, Step.INSPECT, at=at)
        return
    cylinder.life = Life(result)
    cylinder.save(update_fields=["life"])
    visit.move(order, Step.REJECT if result == "rejected" else Step.CONDEMN, at=at)


def attach_trace(
    inspection: Inspection, cylinder: Cylinder, file: int, *, at: dt.datetime, by: Actor
) -> None:
    """Let a kept file be the trace of an inspection whose cylinder the caller has locked."""
    about = filing.About(
        FileKind.TRACE,
        Shows.TRACE,
        work_order=inspection.work_order_id,
        inspection=inspection.pk,
    )
    filing.attach(cylinder, file, about, at=at, by=by)


def _store(
    cylinder: Cylinder, order: WorkOrder, look: Look, result: str, *, on: dt.date
) -> Inspection:
    return Inspection.objects.create(
        cylinder=cylinder,
        work_order=order,
        done_on=on,
        standard=look.standard,
        internal=look.internal,
        external=look.external,
        threads=look.threads,
        result=result,
        notes=look.notes,
        eddy_current=look.eddy_current,
        eddy_equipment=look.eddy_equipment,
        eddy_ring=look.eddy_ring,
    )


_NO_RECORD = say(
    "There is no passed test record for this visit. Ask the lab to send it; a stamp without "
    "its record is not enough."
)


_NOT_COMPARED = say("Compare the new stamp with the lab's record first; they must agree.")


def _must_have_been_tested(order: WorkOrder) -> None:
    if Service.REQUALIFICATION not in order.services:
        return
    if order.stage == Stage.TORN_DOWN:
        name = STEPS[Step.PACK].name.lower()
        raise Refused(
            "not_tested", say("It came for requalification: {name} comes first.", name=name)
        )
    if not order.records.filter(state=RecordState.ATTACHED, verdict="passed").exists():
        raise Refused(
            "no_record",
            _NO_RECORD,
            "49 CFR 180.215(b)",
        )
    if not order.stamp_agrees:
        raise Refused(
            "stamp_not_compared",
            _NOT_COMPARED,
            "49 CFR 180.213(d)",
        )


def _result(look: Look) -> str:
    parts = {"inside": look.internal, "outside": look.external, "threads": look.threads}
    wrong = [name for name, seen in parts.items() if seen not in SEEN]
    if wrong:
        says = say("Say pass, fail or not_done for: {wrong}.", wrong=", ".join(wrong))
        raise Refused("bad_value", says)
    _check_eddy_current(look)
    if not look.standard.strip():
        raise Refused("no_standard", say("Name the standard that was followed."))
    if "fail" in parts.values():
        if look.ending not in ENDINGS:
            raise Refused("no_ending", say("Something failed: say rejected or condemned."))
        if not look.notes.strip():
            raise Refused("no_reason", say("Write what was found, for the owner's written notice."))
        return look.ending
    missing = [name for name, seen in parts.items() if seen == "not_done"]
    if missing:
        raise Refused("not_complete", say("Not done yet: {missing}.", missing=", ".join(missing)))
    if not look.sticker_removed:
        raise Refused("old_sticker", say("Scrape the old inspection sticker off, then record it."))
    return _after_eddy_current(look)


def _after_eddy_current(look: Look) -> str:
    """What a good look comes to once the eddy current examination is seen too."""
    if not look.eddy_current:
        return "passed"
    return "passed" if judge_sights(Sight(look.eddy_current)).passed else "waiting"


def _check_eddy_current(look: Look) -> None:
    if not look.eddy_current:
        if look.trace is not None:
            raise Refused("no_sight", say("There is a trace: say what it shows."))
        return
    if look.eddy_current not in (Sight.CLEAR, Sight.INDICATION):
        raise Refused("bad_value", say("Say clear or indication."))
    if not (look.eddy_equipment.strip() and look.eddy_ring.strip()):
        says = say("Name the eddy current equipment and its reference ring.")
        raise Refused("no_equipment", says, "49 CFR part 180 appendix C")
