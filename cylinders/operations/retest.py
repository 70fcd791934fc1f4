"""What the lab found: its record is judged again, then attached, or held for a person to decide."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, RecordDismissed
from cylinders.models import (
    ConsignmentLine,
    Cylinder,
    Lab,
    Life,
    RecordState,
    TestRecord,
    WorkOrder,
)
from cylinders.operations import recording, settling
from cylinders.rules import judgement
from cylinders.rules.judgement import TestBody, Verdict
from cylinders.rules.judgement.answer import Answered
from cylinders.rules.judgement.by_hand import still_holding, verdict_by_hand
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say, together


@dataclass(frozen=True, slots=True)
class Receipt:
    """The stored record; ``created`` is false when the very same one was held already."""

    record: TestRecord
    created: bool


@transaction.atomic
def receive_record(
    *,
    lab_id: int,
    cylinder_id: int,
    body: TestBody,
    body_text: str,
    on: dt.date,
    at: dt.datetime,
    by: Actor,
) -> Receipt:
    """Judge a lab's record of a cylinder that was sent to it, and attach or hold it.

    ``body_text`` is kept exactly. The same reference with the same text is answered with what is
    held; with another text it is refused, because a result is never edited. Raises
    :class:`Refused` when the cylinder of no open visit was sent to this lab.
    """
    # A void may be on its way for a record that has not come: the lab's row keeps them in turn.
    lab = Lab.objects.select_for_update().get(pk=lab_id)
    cylinder = history.lock(cylinder_id)
    held = TestRecord.objects.filter(lab=lab, lab_reference=body.lab_reference).first()
    if held:
        return held_already(held, cylinder, body_text)
    order = order_at(lab, cylinder)
    judged = recording.judge(body, lab, cylinder, on=on, visit=order)
    answered = Answered(judged, judgement.as_json(judged))
    record = new_record(
        body, body_text, answered, lab_id=lab.pk, cylinder=cylinder, work_order_id=order.pk, at=at
    )
    record.save(force_insert=True)
    if judged.verdict is Verdict.HELD:
        recording.note_held(record, cylinder, list(judged.reasons), at=at, by=by)
    else:
        recording.attach(record, cylinder, body, judged.verdict, at=at, by=by)
    settling.settle(record, cylinder, at=at, by=by)
    record.refresh_from_db()
    return Receipt(record, created=True)


@transaction.atomic
def decide_held(
    *,
    record_id: int,
    attach: bool,
    reason: str,
    at: dt.datetime,
    by: Actor,
) -> TestRecord:
    """Decide on a record that contradicts something: let it count, or dismiss it.

    A person clears up what can be compared; see :mod:`cylinders.rules.judgement.by_hand`. Raises
    :class:`Refused` where something is not known, or the cylinder is condemned here.
    """
    found = TestRecord.objects.filter(pk=record_id).values_list("cylinder_id", flat=True).first()
    if found is None:
        raise Refused("unknown_record", say("There is no such test record."))
    cylinder = history.lock(found)
    record = TestRecord.objects.select_for_update().get(pk=record_id)
    if record.state != RecordState.HELD:
        raise Refused(
            "not_held",
            say(
                "That record is {state_display} already.", state_display=record.get_state_display()
            ),
        )
    if not reason.strip():
        raise Refused("no_reason", say("Write what you compared, and what you found."))
    if not attach:
        record.state = RecordState.DISMISSED
        record.save(update_fields=["state"])
        facts = RecordDismissed(record=record.pk, reason=reason)
        history.append(cylinder, facts, at=at, by=by)
        settling.settle(record, cylinder, at=at, by=by)
        return record
    body = judgement.parse(judgement.loads(record.body))
    verdict = _by_hand(record, body, cylinder)
    record.state, record.verdict, record.decided = RecordState.ATTACHED, verdict.value, True
    record.save(update_fields=["state", "verdict", "decided"])
    recording.attach(record, cylinder, body, verdict, decided=reason, at=at, by=by)
    settling.settle(record, cylinder, at=at, by=by)
    return record


def new_record(
    body: TestBody,
    body_text: str,
    answered: Answered,
    *,
    lab_id: int,
    cylinder: Cylinder,
    work_order_id: int,
    at: dt.datetime,
) -> TestRecord:
    """The row of a record as judged, not stored yet."""
    judged = answered.judgement
    return TestRecord(
        lab_id=lab_id,
        lab_reference=body.lab_reference,
        cylinder=cylinder,
        work_order_id=work_order_id,
        received_at=at,
        tested_on=body.date,
        body=body_text,
        answer=answered.answer,
        verdict=judged.verdict.value,
        daily_check_id=judged.daily_check,
        state=RecordState.HELD if judged.verdict is Verdict.HELD else RecordState.ATTACHED,
    )


def held_before(held: TestRecord, body_text: str) -> Receipt:
    """The receipt of a record whose reference is held; refused where it says something else.

    Whatever cylinder it would name now: the very same record may come again when that has gone.
    """
    if held.body != body_text:
        raise Refused(
            "reference_used",
            say(
                "{lab_reference} came with another body on {received_at:%Y-%m-%d}. Choose a fresh "
                "reference; to change what was sent, send a correction.",
                lab_reference=held.lab_reference,
                received_at=held.received_at,
            ),
        )
    return Receipt(held, created=False)


def held_already(held: TestRecord, cylinder: Cylinder, body_text: str) -> Receipt:
    """The receipt of a record that came before; refused when it is not the very same."""
    if held.cylinder_id != cylinder.pk or held.body != body_text:
        raise Refused(
            "reference_used",
            say(
                "The reference {lab_reference} was used for another record. A result is "
                "never edited: send a new one under a new reference.",
                lab_reference=held.lab_reference,
            ),
        )
    return Receipt(held, created=False)


_NOT_SENT = say(
    "This cylinder was not sent to you, or its visit is closed. Check the tag, then ask the shop."
)


def order_at(lab: Lab, cylinder: Cylinder) -> WorkOrder:
    """The open visit in which the cylinder was sent to that lab; refused when there is none."""
    line = (
        ConsignmentLine.objects.filter(
            consignment__lab=lab,
            consignment__sent_at__isnull=False,
            work_order__cylinder=cylinder,
            work_order__closed_at__isnull=True,
        )
        .select_related("work_order")
        .order_by("-pk")
        .first()
    )
    if line is None:
        raise not_sent()
    return line.work_order


def not_sent() -> Refused:
    """Why a record of a cylinder elsewhere is not taken."""
    return Refused("not_at_lab", _NOT_SENT)


def _by_hand(record: TestRecord, body: TestBody, cylinder: Cylinder) -> Verdict:
    if cylinder.life == Life.CONDEMNED:
        raise Refused(
            "cylinder_condemned",
            say("This cylinder is condemned. No record brings it back: dismiss this one."),
            "49 CFR 180.205(i)",
        )
    judged = recording.judge(
        body,
        record.lab,
        cylinder,
        on=record.received_at.date(),
        but=record,
        visit=record.work_order,
    )
    holding = still_holding(judged)
    if holding:
        raise Refused(
            "still_unknown",
            say(
                "Comparing does not settle this: {findings} Ask the lab for a record that says "
                "it, and dismiss this one.",
                findings=together(finding.says for finding in holding),
            ),
            str(holding[0].cites),
        )
    return verdict_by_hand(judged, body)
