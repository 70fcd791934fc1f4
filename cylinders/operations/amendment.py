"""A lab takes back what it reported: a correction takes its place, or a void takes it out.

Nothing that was reported is edited or lost. Either may arrive before the record that it is about.
"""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor
from cylinders.models import Cylinder, Lab, RecordState, RecordVoid, TestRecord
from cylinders.operations import recording, settling
from cylinders.operations.retest import Receipt, held_already, order_at
from cylinders.rules import judgement
from cylinders.rules.judgement import Judgement, TestBody, Verdict
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import phrase, say


@dataclass(frozen=True, slots=True)
class Correction:
    """What is corrected (the lab's reference of it) and why."""

    corrects: str
    reason: str


@transaction.atomic
def correct_record(
    *,
    lab_id: int,
    cylinder_id: int,
    correction: Correction,
    body: TestBody,
    body_text: str,
    on: dt.date,
    at: dt.datetime,
    by: Actor,
) -> Receipt:
    """Take a record that corrects another of the same lab and cylinder.

    It counts in place of the other, unless a person must decide: the other has not come yet, or it
    ended the cylinder's service and this one would lift that. Raises :class:`Refused`:
    ``no_reason``, ``other_cylinder``, ``already_corrected``, ``corrects_itself``,
    ``reference_used``, ``not_at_lab``.
    """
    if correction.corrects == body.lab_reference:
        raise Refused("corrects_itself", say("A correction has a reference of its own."))
    lab = Lab.objects.select_for_update().get(pk=lab_id)
    cylinder = history.lock(cylinder_id)
    held = TestRecord.objects.filter(lab=lab, lab_reference=body.lab_reference).first()
    if held:
        _check_same(held, correction)
        return held_already(held, cylinder, body_text)
    _check_reason(correction.reason)
    earlier = _corrected(lab, cylinder, correction)
    order = earlier.work_order if earlier else order_at(lab, cylinder)
    judged = recording.judge(body, lab, cylinder, on=on, but=earlier, visit=order)
    record = TestRecord(
        lab=lab,
        lab_reference=body.lab_reference,
        corrects=correction.corrects,
        correction_reason=correction.reason,
        cylinder=cylinder,
        work_order=order,
        supersedes=earlier,
        received_at=at,
        tested_on=body.date,
        body=body_text,
        answer=judgement.as_json(judged),
        verdict=judged.verdict.value,
        daily_check_id=judged.daily_check,
    )
    _store(record, cylinder, body, judged, at=at, by=by)
    return Receipt(record, created=True)


def _store(
    record: TestRecord,
    cylinder: Cylinder,
    body: TestBody,
    judged: Judgement,
    *,
    at: dt.datetime,
    by: Actor,
) -> None:
    """Let the correction count or wait, then bring the records before and after it in step."""
    waits = settling.why_waits(record, record.supersedes) or _why_voided(record)
    if waits or judged.verdict is Verdict.HELD:
        record.state = RecordState.HELD
        record.save()
        why = [*filter(None, [waits]), *judged.reasons]
        recording.note_held(record, cylinder, why, at=at, by=by)
    else:
        record.state = RecordState.ATTACHED
        record.save()
        recording.attach(record, cylinder, body, judged.verdict, at=at, by=by)
    settling.settle(record, cylinder, at=at, by=by)
    record.refresh_from_db()


@transaction.atomic
def void_record(
    *,
    lab_id: int,
    lab_reference: str,
    reason: str,
    at: dt.datetime,
    by: Actor,
) -> tuple[RecordVoid, bool]:
    """Take one record out, as if it had never come; returns the void and whether it is new.

    Raises :class:`Refused`: ``no_reason``, and ``void_needs_person`` for a record that condemned or
    rejected a cylinder: that is not undone by whoever reported it.
    """
    lab = Lab.objects.select_for_update().get(pk=lab_id)
    held = RecordVoid.objects.filter(lab=lab, lab_reference=lab_reference).first()
    if held:
        return held, False
    _check_reason(reason)
    record = TestRecord.objects.filter(lab=lab, lab_reference=lab_reference).first()
    if record and record.verdict in (Verdict.CONDEMNED.value, Verdict.REJECTED.value):
        raise Refused(
            "void_needs_person",
            say(
                "{lab_reference} ended a cylinder's service. Tell the shop what went "
                "wrong: only a person there decides what follows, and a condemned cylinder "
                "stays condemned.",
                lab_reference=lab_reference,
            ),
            "49 CFR 180.205(h)-(i)",
        )
    void = RecordVoid.objects.create(
        lab=lab, lab_reference=lab_reference, reason=reason, received_at=at
    )
    if record:
        settling.settle(record, history.lock(record.cylinder_id), at=at, by=by)
    return void, True


def _why_voided(record: TestRecord) -> str:
    """Why a correction never counts: its void came before it."""
    own = RecordVoid.objects.filter(lab=record.lab_id, lab_reference=record.lab_reference)
    return say("It was voided before it came.") if own.exists() else ""


def _check_same(held: TestRecord, correction: Correction) -> None:
    """Refuse a reference that another record has."""
    if held.corrects != correction.corrects:
        says = say("{lab_reference} names another record.", lab_reference=held.lab_reference)
        raise Refused("reference_used", says)


def _check_reason(reason: str) -> None:
    if not reason.strip():
        raise Refused("no_reason", say("Write what was wrong with the record."))


_CORRECTED_ALREADY = phrase("{other} corrects {corrects} already. Correct that one.")


_OTHER_CYLINDER = phrase("{corrects} is a record of another cylinder. Void it and send a new one.")


def _corrected(lab: Lab, cylinder: Cylinder, correction: Correction) -> TestRecord | None:
    """The record that is corrected, or None where it has not come."""
    own = TestRecord.objects.filter(lab=lab)
    other = own.filter(corrects=correction.corrects).first()
    if other:
        taken = {"other": other.lab_reference, "corrects": correction.corrects}
        raise Refused("already_corrected", say(_CORRECTED_ALREADY, **taken))
    earlier = own.select_related("work_order").filter(lab_reference=correction.corrects).first()
    if earlier and earlier.cylinder_id != cylinder.pk:
        raise Refused(
            "other_cylinder",
            say(_OTHER_CYLINDER, corrects=correction.corrects),
        )
    return earlier
