"""What a lab reported beside its records, as its records lean on it: read once for many of them."""

import datetime as dt
from collections.abc import Collection, Iterable
from functools import lru_cache

from django.db.models import Q, QuerySet

from cylinders.models import Cylinder, LabReport, ReportState
from cylinders.queries.known import facts_of
from cylinders.rules.judgement import TestBody, loads
from cylinders.rules.judgement.on_file import OnFile
from cylinders.rules.lab_reports import leaning, reading
from cylinders.rules.lab_reports.bodies import Body, CalibrationBody, Came, ReportKind
from cylinders.rules.lab_reports.judging import Known
from cylinders.rules.lab_reports.leaning import Check, Seen, Shelf

#: reports that are kept as they were read: their text never changes, and a day's records share them
_KEPT = 256


def reports(*, lab_id: int, kind: ReportKind) -> QuerySet[LabReport]:
    """That lab's own reports of one kind, in the order of their arrival."""
    return (
        LabReport.objects.filter(lab_id=lab_id, kind=kind).select_related("cylinder").order_by("pk")
    )


def on_file(*, lab_id: int, body: TestBody, work_order: int | None) -> OnFile:
    """What one record of that lab, of that visit, leans on; one query."""
    named = [body.daily_check] if body.daily_check else []
    orders = [] if work_order is None else [work_order]
    rows = standing(lab_id=lab_id, days=[body.date], named=named, work_orders=orders)
    return of_rows(rows, body=body, work_order=work_order)


def standing(
    *,
    lab_id: int,
    days: Collection[dt.date],
    named: Collection[str],
    work_orders: Collection[int],
) -> list[LabReport]:
    """The standing reports that bear on records of these days, names and visits; one query."""
    wanted = asked(lab_id=lab_id, days=days, named=named, work_orders=work_orders)
    return list(wanted.order_by("pk"))


def asked(
    *,
    lab_id: int,
    days: Collection[dt.date],
    named: Collection[str],
    work_orders: Collection[int],
) -> QuerySet[LabReport]:
    """The same as a query, not asked yet."""
    check = Q(kind=ReportKind.CALIBRATION) & (Q(day__in=days) | Q(lab_reference__in=named))
    seen = Q(work_order__pk__among_many=work_orders)
    rows = LabReport.objects.filter(lab_id=lab_id, state=ReportState.STANDING)
    return rows.filter(check | seen)


def of_rows(rows: Iterable[LabReport], *, body: TestBody, work_order: int | None) -> OnFile:
    """What one record leans on among rows that were read for many."""
    checks: list[Check] = []
    seen: list[Seen] = []
    for row in rows:
        if row.kind == ReportKind.CALIBRATION:
            if body.date == row.day or body.daily_check == row.lab_reference:
                checks.append(_check(row))
        elif row.work_order_id == work_order:
            seen.append(_seen(row))
    return leaning.on_file(body, Shelf(tuple(checks), tuple(seen)))


def body_of(report: LabReport) -> Body:
    """What the lab sent, read again; all records of a day lean on the same check."""
    return _read(report.kind, report.body)


@lru_cache(_KEPT)
def _read(kind: str, text: str) -> Body:
    return reading.read(ReportKind(kind), loads(text))


def known(cylinder: Cylinder) -> Known:
    """The cylinder of a report, as the judgement wants it."""
    return Known(facts_of(cylinder), cylinder.serial, cylinder.manufacturer_mark)


def _check(row: LabReport) -> Check:
    body = body_of(row)
    if not isinstance(body, CalibrationBody):
        raise TypeError(f"report {row.pk} is no daily check")
    return Check(row.pk, body, Came(row.came), tuple(row.answer["reasons"]))


def _seen(row: LabReport) -> Seen:
    body = body_of(row)
    if isinstance(body, CalibrationBody):
        raise TypeError(f"report {row.pk} is of no cylinder")
    return Seen(row.pk, body, Came(row.came), tuple(row.answer["reasons"]))
