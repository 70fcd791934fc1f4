"""What many records of one lab lean on, read at once, while their cylinders are locked."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from django.db import connection
from django.db.models import Case, Exists, F, Q, QuerySet, When

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
from cylinders.queries import lab_reports, owner_rows
from cylinders.queries.at_once import Rows, rows_of
from cylinders.queries.tested import lab_standing
from cylinders.rules.extra_rows import ExtraRows
from cylinders.rules.judgement import LabStanding, TestBody
from cylinders.rules.judgement.on_file import OnFile


class Visit(NamedTuple):
    """The number of an open visit, and when its cylinder was dropped off."""

    number: int
    opened_at: dt.datetime


@dataclass(slots=True)
class LeanedOn:
    """What the records of a run lean on, by what they ask for; the cylinders are locked."""

    lab_id: int
    cylinders: dict[int, Cylinder] = field(default_factory=dict)
    visits: dict[int, Visit] = field(default_factory=dict)
    held: dict[str, TestRecord] = field(default_factory=dict)
    with_a_past: set[str] = field(default_factory=set)
    earlier: dict[int, list[TestRecord]] = field(default_factory=lambda: defaultdict(list))
    checks: dict[dt.date | str, list[LabReport]] = field(default_factory=lambda: defaultdict(list))
    reports: dict[int, LabReport] = field(default_factory=dict)
    seen: dict[int, list[LabReport]] = field(default_factory=lambda: defaultdict(list))
    extra: ExtraRows = field(default_factory=ExtraRows)
    standing: LabStanding | None = None
    numbers: Sequence[int] = ()

    def on_file(self, body: TestBody, work_order: int) -> OnFile:
        """The reports that one record leans on."""
        named = self.checks[body.daily_check] if body.daily_check else []
        rows = {row.pk: row for row in (*self.checks[body.date], *named, *self.seen[work_order])}
        ordered = [rows[pk] for pk in sorted(rows)]
        return lab_reports.of_rows(ordered, body=body, work_order=work_order)


def lock_and_read(
    *, lab_id: int, cylinders: Collection[int], bodies: Sequence[TestBody]
) -> LeanedOn:
    """Lock these cylinders and read all that these records lean on: two statements."""
    beside = LeanedOn(lab_id)
    for cylinder, visit in _locked(lab_id, cylinders):
        beside.cylinders[cylinder.pk], beside.visits[cylinder.pk] = cylinder, visit
    found = rows_of(_questions(bodies, beside))
    references = {body.lab_reference for body in bodies}
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
    [lab] = found[Lab]
    beside.standing, beside.numbers = lab_standing(lab), getattr(lab, "numbers", None) or ()
    return beside


def _sort_reports(beside: LeanedOn, found: Rows) -> None:
    for report in found[LabReport]:
        beside.reports[report.pk] = report
        if report.cylinder_id is None:
            beside.checks[report.day].append(report)
            beside.checks[report.lab_reference].append(report)
        else:
            beside.seen[report.work_order_id].append(report)


def _locked(lab_id: int, cylinders: Collection[int]) -> Iterator[tuple[Cylinder, Visit]]:
    """The cylinders that were sent to the lab in a visit that is open, and that visit.

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
        .annotate(visit=F("work_orders__pk"), came=F("work_orders__opened_at"))
        .order_by("pk", "work_orders__lines__pk")
    )
    return ((cylinder, Visit(cylinder.visit, cylinder.came)) for cylinder in sent)


def _questions(bodies: Sequence[TestBody], beside: LeanedOn) -> list[QuerySet[Any]]:
    lab_id = beside.lab_id
    references = [body.lab_reference for body in bodies]
    sent, correcting = (
        Q(**{f"{name}__among_many": references}) for name in ("lab_reference", "corrects")
    )
    counting = Q(cylinder__pk__among_many=list(beside.cylinders), state=RecordState.ATTACHED)
    own = Q(lab=lab_id) & (sent | correcting)
    voids = RecordVoid.objects.filter(sent, lab=lab_id)
    lab = Lab.objects.filter(pk=lab_id)
    if connection.vendor == "postgresql":
        # Where none of them has come before in any way, each with a cylinder here will be stored.
        come = Exists(TestRecord.objects.filter(own)) | Exists(voids)
        drawn = set_at_once.FreshNumbers(TestRecord, len(beside.cylinders))
        lab = lab.annotate(numbers=Case(When(come, then=None), default=drawn))
    return [
        lab,
        TestRecord.objects.filter(own | counting),
        voids,
        lab_reports.asked(
            lab_id=lab_id,
            days={body.date for body in bodies},
            named={body.daily_check for body in bodies if body.daily_check},
            work_orders=[visit.number for visit in beside.visits.values()],
        ),
        OwnerRow.objects.all(),
    ]
