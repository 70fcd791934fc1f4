"""Many records of one lab at once: the same rows, events and verdicts as one by one, in six looks.

A run of records of different cylinders is read, judged and stored set-wise. A record with a past (a
void or a correction of it came before) is taken by :func:`retest.receive_record` in its turn, and
so is none that shares its cylinder with an earlier one of the same run: that one must count first.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.db.models import Exists, F, Q, QuerySet

from cylinders import history
from cylinders.facts import Actor, Facts
from cylinders.models import (
    Cylinder,
    Lab,
    LabReport,
    OwnerRow,
    RecordState,
    RecordVoid,
    TestRecord,
    set_at_once,
)
from cylinders.operations import recording, retest
from cylinders.operations.retest import Receipt
from cylinders.queries import lab_reports, owner_rows
from cylinders.queries.at_once import Rows, rows_of
from cylinders.queries.tested import known_cylinder, lab_standing, previous_test
from cylinders.rules import judgement
from cylinders.rules.extra_rows import ExtraRows
from cylinders.rules.judgement import Judgement, LabStanding, TestBody, Verdict
from cylinders.rules.judgement.on_file import OnFile, completed
from cylinders.rules.refusal import Refused


@dataclass(frozen=True, slots=True)
class Posted:
    """One record as sent, and its cylinder; or why no cylinder could be named."""

    body: TestBody
    text: str
    cylinder_id: int | None
    unnamed: Refused | None = None

    @property
    def reference(self) -> str:
        """The lab's own reference."""
        return self.body.lab_reference


Outcome = Receipt | Refused


@transaction.atomic
def receive_records(
    *, lab_id: int, posted: Sequence[Posted], on: dt.date, at: dt.datetime, by: Actor
) -> list[Outcome]:
    """Judge and store records of one lab in their order; what came of each, in that order.

    A record that is refused keeps none of the others back. See :func:`retest.receive_record` for
    what is refused and why.
    """
    made: list[Outcome] = []
    while len(made) < len(posted):
        run = _of_different_cylinders(posted[len(made) :])
        beside = _read(lab_id, run)
        plain = run[: _first_with_a_past(run, beside)]
        made += _store(plain, beside, on=on, at=at, by=by)
        if len(plain) < len(run):
            made.append(_alone(lab_id, run[len(plain)], on=on, at=at, by=by))
    return made


def _of_different_cylinders(posted: Sequence[Posted]) -> Sequence[Posted]:
    """The records up to the first whose cylinder, or whose reference, was there before."""
    cylinders: set[int] = set()
    references: set[str] = set()
    for place, one in enumerate(posted):
        if one.cylinder_id in cylinders or one.reference in references:
            return posted[:place]
        references.add(one.reference)
        if one.cylinder_id is not None:
            cylinders.add(one.cylinder_id)
    return posted


@dataclass(slots=True)
class _Beside:
    """What the records of a run lean on, by what they ask for; the cylinders are locked."""

    lab_id: int
    cylinders: dict[int, Cylinder] = field(default_factory=dict)
    visits: dict[int, int] = field(default_factory=dict)
    held: dict[str, TestRecord] = field(default_factory=dict)
    with_a_past: set[str] = field(default_factory=set)
    earlier: dict[int, list[TestRecord]] = field(default_factory=lambda: defaultdict(list))
    checks: dict[dt.date | str, list[LabReport]] = field(default_factory=lambda: defaultdict(list))
    reports: dict[int, LabReport] = field(default_factory=dict)
    seen: dict[int, list[LabReport]] = field(default_factory=lambda: defaultdict(list))
    extra: ExtraRows = field(default_factory=ExtraRows)
    standing: LabStanding | None = None

    def on_file(self, body: TestBody, work_order: int) -> OnFile:
        """The reports that one record leans on."""
        named = self.checks[body.daily_check] if body.daily_check else []
        rows = {row.pk: row for row in (*self.checks[body.date], *named, *self.seen[work_order])}
        ordered = [rows[pk] for pk in sorted(rows)]
        return lab_reports.of_rows(ordered, body=body, work_order=work_order)


def _read(lab_id: int, run: Sequence[Posted]) -> _Beside:
    """Lock the cylinders of a run and read all that its records lean on: two statements."""
    cylinders = {one.cylinder_id for one in run if one.cylinder_id is not None}
    beside = _Beside(lab_id)
    for cylinder, visit in _locked(lab_id, cylinders):
        beside.cylinders[cylinder.pk], beside.visits[cylinder.pk] = cylinder, visit
    found = rows_of(_questions(lab_id, run, beside))
    references = {one.reference for one in run}
    for record in sorted(found[TestRecord], key=lambda row: (row.tested_on, row.pk)):
        if record.lab_id == lab_id and record.lab_reference in references:
            beside.held[record.lab_reference] = record
        if record.lab_id == lab_id and record.corrects in references:
            beside.with_a_past.add(record.corrects)
        if record.state == RecordState.ATTACHED:
            beside.earlier[record.cylinder_id].append(record)
    beside.with_a_past |= {void.lab_reference for void in found[RecordVoid]}
    _sort_reports(beside, found)
    entered = sorted(found[OwnerRow], key=lambda row: (row.entered_at, row.pk), reverse=True)
    beside.extra = owner_rows.of_rows(entered)
    beside.standing = lab_standing(found[Lab][0])
    return beside


def _sort_reports(beside: _Beside, found: Rows) -> None:
    for report in found[LabReport]:
        beside.reports[report.pk] = report
        if report.cylinder_id is None:
            beside.checks[report.day].append(report)
            beside.checks[report.lab_reference].append(report)
        else:
            beside.seen[report.work_order_id].append(report)


def _locked(lab_id: int, cylinders: set[int]) -> Iterator[tuple[Cylinder, int]]:
    """The cylinders that were sent to the lab in a visit that is open, and its number.

    One statement takes the lab's row and then each cylinder's, the lowest number first, as every
    operation on a lab's records does; whoever inserts a row that names the lab need not wait. The
    lab stands in a condition that no cylinder is part of, so the database looks at it once, first.
    """
    lab = Lab.objects.select_for_update(no_key=True).filter(pk=lab_id)
    sent = (
        Cylinder.objects.select_for_update(of=("self",), no_key=True)
        .filter(
            Exists(lab),
            pk__among_many=cylinders,
            work_orders__closed_at__isnull=True,
            work_orders__lines__consignment__lab=lab_id,
            work_orders__lines__consignment__sent_at__isnull=False,
        )
        .annotate(visit=F("work_orders__pk"))
        .order_by("pk", "work_orders__lines__pk")
    )
    return ((cylinder, cylinder.visit) for cylinder in sent)


def _questions(lab_id: int, run: Sequence[Posted], beside: _Beside) -> list[QuerySet[Any]]:
    references = [one.reference for one in run]
    sent, correcting = (
        Q(**{f"{name}__among_many": references}) for name in ("lab_reference", "corrects")
    )
    counting = Q(cylinder__pk__among_many=list(beside.cylinders), state=RecordState.ATTACHED)
    return [
        Lab.objects.filter(pk=lab_id),
        TestRecord.objects.filter(Q(lab=lab_id) & (sent | correcting) | counting),
        RecordVoid.objects.filter(sent, lab=lab_id),
        lab_reports.asked(
            lab_id=lab_id,
            days={one.body.date for one in run},
            named={one.body.daily_check for one in run if one.body.daily_check},
            work_orders=list(beside.visits.values()),
        ),
        OwnerRow.objects.all(),
    ]


def _first_with_a_past(run: Sequence[Posted], beside: _Beside) -> int:
    for place, one in enumerate(run):
        if one.reference in beside.with_a_past and one.reference not in beside.held:
            return place
    return len(run)


@dataclass(frozen=True, slots=True)
class _New:
    """A record that is to be stored, judged; ``late`` where a later test counts already."""

    record: TestRecord
    whole: TestBody
    judged: Judgement
    late: bool


def _store(
    plain: Sequence[Posted], beside: _Beside, *, on: dt.date, at: dt.datetime, by: Actor
) -> list[Outcome]:
    """Store what is new among records without a past: three statements, or none.

    An event names its record's number; it is written out while the database stores the record.
    """
    outcomes: list[Outcome] = []
    news: list[_New] = []
    for one in plain:
        made = _looked_at(one, beside, on=on, at=at)
        if isinstance(made, _New):
            news.append(made)
            made = Receipt(made.record, created=True)
        outcomes.append(made)
    if news:
        stored = set_at_once.insert_each([new.record for new in news])
        pairs = ((record.cylinder, _fact_of(new)) for record, new in zip(stored, news, strict=True))
        history.append_many(pairs, changed=recording.CHANGED, at=at, by=by)
    return outcomes


def _looked_at(
    one: Posted, beside: _Beside, *, on: dt.date, at: dt.datetime
) -> _New | Receipt | Refused:
    held = beside.held.get(one.reference)
    cylinder = beside.cylinders.get(one.cylinder_id or 0)
    if held:
        try:
            return retest.held_before(held, one.text)
        except Refused as refused:
            return refused
    if cylinder is None:
        return one.unnamed or retest.not_sent()
    return _judged(one, cylinder, beside, on=on, at=at)


def _judged(
    one: Posted, cylinder: Cylinder, beside: _Beside, *, on: dt.date, at: dt.datetime
) -> _New:
    visit = beside.visits[cylinder.pk]
    filed = beside.on_file(one.body, visit)
    judged = judgement.judge(
        one.body,
        on=on,
        lab=beside.standing,
        known_cylinder=known_cylinder(cylinder),
        previous=tuple(previous_test(record) for record in beside.earlier[cylinder.pk]),
        extra=beside.extra,
        on_file=filed,
    )
    record = retest.new_record(
        one.body,
        one.text,
        judged,
        lab_id=beside.lab_id,
        cylinder=cylinder,
        work_order_id=visit,
        at=at,
    )
    if judged.daily_check:
        record.daily_check = beside.reports[judged.daily_check]
    late = recording.later_counts(record, beside.earlier[cylinder.pk])
    return _New(record, completed(one.body, filed), judged, late)


def _fact_of(new: _New) -> Facts:
    """The event of a record that was stored; what it changes is set on its cylinder."""
    verdict = new.judged.verdict
    if verdict is Verdict.HELD:
        return recording.held_facts(new.record, list(new.judged.reasons))
    facts = recording.attached_facts(new.record, new.whole, verdict)
    recording.change_cylinder(new.record.cylinder, facts, verdict, late=new.late)
    return facts


def _alone(lab_id: int, one: Posted, *, on: dt.date, at: dt.datetime, by: Actor) -> Outcome:
    """One record by the ordinary way."""
    if one.cylinder_id is None:
        return one.unnamed or retest.not_sent()
    try:
        with transaction.atomic():
            return retest.receive_record(
                lab_id=lab_id,
                cylinder_id=one.cylinder_id,
                body=one.body,
                body_text=one.text,
                on=on,
                at=at,
                by=by,
            )
    except Refused as refused:
        return refused
