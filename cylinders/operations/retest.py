"""What the lab found: its record is judged again, then attached, or held for a person to decide."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, RecordAttached, RecordDismissed, RecordHeld
from cylinders.models import (
    ConsignmentLine,
    Cylinder,
    Lab,
    Life,
    RecordState,
    TestRecord,
    WorkOrder,
)
from cylinders.queries.owner_rows import extra_rows
from cylinders.queries.tested import known_cylinder, lab_standing, previous_tests
from cylinders.rules import judgement
from cylinders.rules.judgement import Judgement, TestBody, Verdict
from cylinders.rules.judgement.case import symbol_of
from cylinders.rules.judgement.ruling import worst_verdict
from cylinders.rules.refusal import Refused


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
    cylinder = history.lock(cylinder_id)
    lab = Lab.objects.get(pk=lab_id)
    held = TestRecord.objects.filter(lab=lab, lab_reference=body.lab_reference).first()
    if held:
        return _held_already(held, cylinder, body_text)
    order = _order_at(lab, cylinder)
    judged = _judge(body, lab, cylinder, on=on)
    record = TestRecord.objects.create(
        lab=lab,
        lab_reference=body.lab_reference,
        cylinder=cylinder,
        work_order=order,
        received_at=at,
        tested_on=body.date,
        body=body_text,
        answer=judgement.as_json(judged),
        verdict=judged.verdict.value,
        state=RecordState.HELD if judged.verdict is Verdict.HELD else RecordState.ATTACHED,
    )
    if judged.verdict is Verdict.HELD:
        _append_held(record, cylinder, judged, at=at, by=by)
    else:
        _attach(record, cylinder, body, judged.verdict, at=at, by=by)
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
    """Decide on a record that contradicts something: attach it as its numbers say, or dismiss it.

    Attaching never improves a verdict: what counts is the verdict of every check but those that
    only asked for a person.
    """
    found = TestRecord.objects.filter(pk=record_id).values_list("cylinder_id", flat=True).first()
    if found is None:
        raise Refused("unknown_record", "There is no such test record.")
    cylinder = history.lock(found)
    record = TestRecord.objects.select_for_update().get(pk=record_id)
    if record.state != RecordState.HELD:
        raise Refused("not_held", f"That record is {record.get_state_display()} already.")
    if not reason.strip():
        raise Refused("no_reason", "Write what you compared, and what you found.")
    if not attach:
        record.state = RecordState.DISMISSED
        record.save(update_fields=["state"])
        facts = RecordDismissed(record=record.pk, reason=reason)
        history.append(cylinder, facts, at=at, by=by)
        return record
    body = judgement.parse(judgement.loads(record.body))
    verdict = _without_contradictions(record, body, cylinder)
    record.state, record.verdict = RecordState.ATTACHED, verdict.value
    record.save(update_fields=["state", "verdict"])
    _attach(record, cylinder, body, verdict, decided=reason, at=at, by=by)
    return record


def _held_already(held: TestRecord, cylinder: Cylinder, body_text: str) -> Receipt:
    if held.cylinder_id != cylinder.pk or held.body != body_text:
        raise Refused(
            "reference_used",
            f"The reference {held.lab_reference} was used for another record. A result is never "
            "edited: send a new one under a new reference.",
        )
    return Receipt(held, created=False)


def _order_at(lab: Lab, cylinder: Cylinder) -> WorkOrder:
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
        raise Refused(
            "not_at_lab",
            "This cylinder was not sent to you, or its visit is closed. Check the tag, then ask "
            "the shop.",
        )
    return line.work_order


def _judge(
    body: TestBody,
    lab: Lab,
    cylinder: Cylinder,
    *,
    on: dt.date,
    but: TestRecord | None = None,
) -> Judgement:
    return judgement.judge(
        body,
        on=on,
        lab=lab_standing(lab),
        known_cylinder=known_cylinder(cylinder),
        previous=previous_tests(cylinder, but=but),
        extra=extra_rows(),
    )


def _without_contradictions(record: TestRecord, body: TestBody, cylinder: Cylinder) -> Verdict:
    judged = _judge(body, record.lab, cylinder, on=record.received_at.date(), but=record)
    return worst_verdict(ruling for ruling in judged.rulings if ruling.leads_to is not Verdict.HELD)


def _append_held(
    record: TestRecord,
    cylinder: Cylinder,
    judged: Judgement,
    *,
    at: dt.datetime,
    by: Actor,
) -> None:
    facts = RecordHeld(
        work_order=record.work_order_id,
        record=record.pk,
        lab=record.lab_id,
        lab_reference=record.lab_reference,
        verdict=record.verdict,
        why=list(judged.reasons),
        body_sha256=history.digest_of(record.body),
    )
    history.append(cylinder, facts, at=at, by=by)


def _attach(
    record: TestRecord,
    cylinder: Cylinder,
    body: TestBody,
    verdict: Verdict,
    *,
    at: dt.datetime,
    by: Actor,
    decided: str = "",
) -> None:
    month = f"{body.stamp.year:04d}-{body.stamp.month:02d}" if body.stamp else ""
    facts = RecordAttached(
        work_order=record.work_order_id,
        record=record.pk,
        lab=record.lab_id,
        lab_reference=record.lab_reference,
        rin=body.rin,
        tested_on=body.date.isoformat(),
        method=body.method,
        verdict=verdict.value,
        percent_permanent=str(record.answer["percent_permanent"] or ""),
        month=month or body.date.strftime("%Y-%m"),
        symbol=symbol_of(body),
        body_sha256=history.digest_of(record.body),
        decided=decided,
        thread_examined=bool(body.eddy_current and body.eddy_current.result == "pass"),
    )
    _change_cylinder(cylinder, facts, verdict)
    history.append(cylinder, facts, at=at, by=by)


def _change_cylinder(cylinder: Cylinder, facts: RecordAttached, verdict: Verdict) -> None:
    if verdict is Verdict.PASSED:
        cylinder.requalified = facts.month
        cylinder.requalified_symbol = facts.symbol
        cylinder.requalified_rin = facts.rin
        if facts.thread_examined:
            cylinder.last_thread_examination = facts.month
    elif verdict in (Verdict.CONDEMNED, Verdict.REJECTED):
        cylinder.life = Life(verdict.value)
    cylinder.save()
