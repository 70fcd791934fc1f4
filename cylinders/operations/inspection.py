"""The shop's own inspection: inside, outside, threads; sticker off; result by a named standard."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, Inspected
from cylinders.models import Cylinder, Inspection, Life, RecordState, Service, WorkOrder
from cylinders.operations import visit
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
    for when something failed: "rejected" or "condemned".
    """

    standard: str
    internal: str
    external: str
    threads: str
    sticker_removed: bool
    ending: str = ""
    notes: str = ""


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

    A cylinder that is back from the lab is inspected only after its new stamp agreed with the
    record, and one that came for requalification not before it has been to the lab.
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.INSPECT)
    visit.must_be_in_service(cylinder)
    _must_have_been_tested(order)
    result = _result(look)
    inspection = _store(cylinder, order, look, result, on=on)
    month = str(Month.of(on))
    if result == "passed":
        cylinder.last_visual = month
        cylinder.save(update_fields=["last_visual"])
        visit.move(order, Step.INSPECT, at=at)
    else:
        cylinder.life = Life(result)
        cylinder.save(update_fields=["life"])
        visit.move(order, Step.REJECT if result == "rejected" else Step.CONDEMN, at=at)
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
    )
    history.append(cylinder, facts, at=at, by=by)
    return inspection


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
    return "passed"
