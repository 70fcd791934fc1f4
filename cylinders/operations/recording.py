"""How a test record is judged and comes to count: shared by all that takes or changes one."""

import datetime as dt
from collections.abc import Iterable
from typing import TypedDict

from cylinders import history
from cylinders.facts import Actor, RecordAttached, RecordHeld
from cylinders.models import Cylinder, Lab, Life, RecordState, TestRecord, WorkOrder
from cylinders.queries import lab_reports
from cylinders.queries.owner_rows import extra_rows
from cylinders.queries.tested import known_cylinder, lab_standing, previous_tests
from cylinders.rules import judgement
from cylinders.rules.judgement import Judgement, TestBody, Verdict, symbol_of
from cylinders.rules.judgement.on_file import completed
from cylinders.rules.month import Month


class Leaning(TypedDict):
    """The check that a record leans on, as its event names it."""

    daily_check: int | None
    check_sha256: str


def judge(
    body: TestBody,
    lab: Lab,
    cylinder: Cylinder,
    *,
    on: dt.date,
    visit: WorkOrder | None,
    but: TestRecord | None = None,
) -> Judgement:
    """What a record says of the cylinder as known on ``on``; its record ``but`` is left out.

    It leans on what the lab reported of that day and of the ``visit`` in which it was tested.
    """
    return judgement.judge(
        body,
        on=on,
        lab=lab_standing(lab),
        known_cylinder=known_cylinder(cylinder, came_at=visit.opened_at if visit else None),
        previous=previous_tests(cylinder, but=but),
        extra=extra_rows(),
        on_file=lab_reports.on_file(
            lab_id=lab.pk, body=body, work_order=visit.pk if visit else None
        ),
    )


def leaning_of(record: TestRecord) -> Leaning:
    """Which reported check a record leans on, and the digest of what was sent."""
    check = record.daily_check
    return {
        "daily_check": check.pk if check else None,
        "check_sha256": history.digest_of(check.body) if check else "",
    }


def note_held(
    record: TestRecord,
    cylinder: Cylinder,
    why: list[str],
    *,
    at: dt.datetime,
    by: Actor,
) -> None:
    """Write into the history that a record waits for a person, and why."""
    history.append(cylinder, held_facts(record, why), at=at, by=by)


def held_facts(record: TestRecord, why: list[str]) -> RecordHeld:
    """That a record waits for a person, and why."""
    return RecordHeld(
        work_order=record.work_order_id,
        record=record.pk,
        lab=record.lab_id,
        lab_reference=record.lab_reference,
        verdict=record.verdict,
        why=why,
        body_sha256=history.digest_of(record.body),
        answer_sha256=history.digest_of_value(record.answer),
        **leaning_of(record),
    )


def attach(
    record: TestRecord,
    cylinder: Cylinder,
    body: TestBody,
    verdict: Verdict,
    *,
    at: dt.datetime,
    by: Actor,
    decided: str = "",
) -> None:
    """Let a record count: its mark becomes the cylinder's, and a bad verdict ends its service."""
    filed = lab_reports.on_file(lab_id=record.lab_id, body=body, work_order=record.work_order_id)
    facts = attached_facts(record, completed(body, filed), verdict, decided=decided)
    counting = TestRecord.objects.filter(cylinder=cylinder, state=RecordState.ATTACHED)
    others = counting.exclude(pk__in=[record.pk, facts.supersedes])
    change_cylinder(cylinder, facts, verdict, late=later_counts(record, others))
    cylinder.save()
    history.append(cylinder, facts, at=at, by=by)


def attached_facts(
    record: TestRecord,
    whole: TestBody,
    verdict: Verdict,
    *,
    decided: str = "",
    answer_sha256: str = "",
) -> RecordAttached:
    """That a record counts; ``whole`` is its body completed by what is on file.

    ``answer_sha256`` is the digest of its answer where the caller has it.
    """
    # Where stamp and day of the test differ, the earlier counts: its period ends first.
    tested = Month.of(whole.date)
    month = min(tested, Month(whole.stamp.year, whole.stamp.month)) if whole.stamp else tested
    return RecordAttached(
        work_order=record.work_order_id,
        record=record.pk,
        lab=record.lab_id,
        lab_reference=record.lab_reference,
        rin=whole.rin,
        tested_on=whole.date.isoformat(),
        method=whole.method,
        verdict=verdict.value,
        percent_permanent=str(record.answer["percent_permanent"] or ""),
        month=str(month),
        symbol=symbol_of(whole),
        body_sha256=history.digest_of(record.body),
        answer_sha256=answer_sha256 or history.digest_of_value(record.answer),
        supersedes=_still_standing(record.supersedes),
        decided=decided,
        thread_examined=bool(whole.eddy_current and whole.eddy_current.result == "pass"),
        **leaning_of(record),
    )


def _still_standing(earlier: TestRecord | None) -> int | None:
    """The number of the record whose place is taken; one that was taken out has no place."""
    gone = (RecordState.VOIDED, RecordState.DISMISSED)
    return None if earlier is None or earlier.state in gone else earlier.pk


#: the columns that :func:`change_cylinder` may change
CHANGED = (
    "requalified",
    "requalified_symbol",
    "requalified_rin",
    "last_thread_examination",
    "life",
)


def later_counts(record: TestRecord, others: Iterable[TestRecord]) -> bool:
    """Whether one of these records that count is of a later test that was passed.

    The mark that counts is that of the latest requalification (49 CFR 180.205(c)). Of
    two tests of one day that with the greater reference is taken for the later, in whatever order
    they came: a rule of the house.
    """
    day = record.tested_on, record.lab_reference
    passed = (one for one in others if one.verdict == Verdict.PASSED.value)
    return any((one.tested_on, one.lab_reference) > day for one in passed)


def change_cylinder(
    cylinder: Cylinder, facts: RecordAttached, verdict: Verdict, *, late: bool
) -> None:
    """Set what a record that counts changes on its cylinder; the caller stores it.

    ``late``: a later test counts already, and its mark is the last one on the cylinder.
    """
    if verdict is Verdict.PASSED:
        if not late:
            cylinder.requalified = facts.month
            cylinder.requalified_symbol = facts.symbol
            cylinder.requalified_rin = facts.rin
        if facts.thread_examined:
            known = cylinder.last_thread_examination
            cylinder.last_thread_examination = max(known, facts.month)
    elif verdict is Verdict.CONDEMNED or (
        verdict is Verdict.REJECTED and cylinder.life != Life.CONDEMNED
    ):
        cylinder.life = Life(verdict.value)
