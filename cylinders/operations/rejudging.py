"""A lab's report came, was corrected or voided: its test records are judged again by what stands.

So a check or an inspection that arrives late ends in the same state as one that arrived in time. A
record that a person decided, and one that ended a cylinder's service, is left as it is; `recall`
finds those.
"""

import datetime as dt
from collections.abc import Sequence

from cylinders import history
from cylinders.facts import Actor, RecordRejudged
from cylinders.models import LabReport, RecordState, TestRecord
from cylinders.operations import recording, settling
from cylinders.rules import judgement
from cylinders.rules.judgement import Verdict
from cylinders.rules.lab_reports.bodies import ReportKind

#: how a body that carries its own check begins it; such a record leans on no other
_OWN_CHECK = '"calibration":{'
_ENDS_SERVICE = (Verdict.CONDEMNED, Verdict.REJECTED)
_OPEN = (RecordState.ATTACHED, RecordState.HELD, RecordState.SUPERSEDED)


def after(reports: Sequence[LabReport], *, because: str, at: dt.datetime, by: Actor) -> None:
    """Judge again each record that one of these reports may bear on, lowest cylinder first."""
    own = TestRecord.objects.filter(lab=reports[0].lab_id, state__in=_OPEN, decided=False).exclude(
        verdict__in=[verdict.value for verdict in _ENDS_SERVICE]
    )
    if reports[0].kind == ReportKind.CALIBRATION:
        days = {report.day for report in reports}
        rows = own.filter(tested_on__in=days).exclude(body__contains=_OWN_CHECK)
    else:
        rows = own.filter(work_order__in={report.work_order_id for report in reports})
    for pk, cylinder in rows.order_by("cylinder_id", "pk").values_list("pk", "cylinder_id"):
        _again(pk, cylinder, because=because, at=at, by=by)


def _again(pk: int, cylinder_id: int, *, because: str, at: dt.datetime, by: Actor) -> None:
    cylinder = history.lock(cylinder_id)
    record = TestRecord.objects.select_related("lab", "work_order").get(pk=pk)
    body = judgement.parse(judgement.loads(record.body))
    on = dt.date.fromisoformat(record.answer["on"])
    judged = recording.judge(body, record.lab, cylinder, on=on, but=record, visit=record.work_order)
    answer = judgement.as_json(judged)
    if (answer, judged.daily_check) == (record.answer, record.daily_check_id):
        return
    record.answer, record.verdict = answer, judged.verdict.value
    record.daily_check_id = judged.daily_check
    record.save(update_fields=["answer", "verdict", "daily_check"])
    facts = RecordRejudged(
        record=record.pk,
        lab_reference=record.lab_reference,
        verdict=record.verdict,
        why=list(judged.reasons),
        because=because,
        answer_sha256=history.digest_of_value(record.answer),
        **recording.leaning_of(record),
    )
    history.append(cylinder, facts, at=at, by=by)
    if judged.verdict in _ENDS_SERVICE and record.state != RecordState.SUPERSEDED:
        record.state = RecordState.ATTACHED
        record.save(update_fields=["state"])
        recording.attach(record, cylinder, body, judged.verdict, at=at, by=by)
    settling.settle(record, cylinder, at=at, by=by)
