"""The records of pressure tests in the fields of the regulation: a lab's day, a cylinder's years.

49 CFR 180.215(b)(2) and (b)(4), 2019-10-01 edition: every test is recorded, completed or
unsuccessful, with these fields; for a proof pressure test the expansions are not (agency letter
21-0100). No field is left to be read from the line above. The owner's name or symbol is asked for
where the cylinder bears one: no mark that is read here has a place for it and a lab is told no
owner, so that column is empty. The service deletes no record, so each is kept longer than the rule
asks: until its period ends or the next requalification.
"""

import datetime as dt
from collections.abc import Iterable
from typing import Final

from cylinders.models import Cylinder, LabReport, ReportState, TestRecord
from cylinders.queries.lab_reports import body_of
from cylinders.rules.judgement import TestBody, loads, parse
from cylinders.rules.lab_reports.bodies import CalibrationBody, ReportKind
from cylinders.rules.quantity import Quantity

RULE: Final = "49 CFR 180.215(b)"
_OF_A_TEST: Final = (
    *("date_of_requalification", "serial_number", "specification_or_permit", "marked_pressure"),
    *("actual_dimensions", "manufacturer_name_or_symbol", "owner_name_or_symbol"),
    *("visual_inspection_result", "method", "actual_test_pressure", "total_expansion"),
    *("elastic_expansion", "permanent_expansion", "percent_permanent_expansion"),
    *("disposition", "reason_for_repeat_rejection_or_condemnation", "date_of_earlier_test"),
    *("wall_stress_method", "test_operator", "rin"),
)
#: the columns of a log; ``what`` tells a test from a calibration test
FIELDS: Final = ("what", *_OF_A_TEST, "lab_reference", "judged_as", "state", "daily_check", "notes")

Row = dict[str, str]


def of_day(*, lab_id: int, day: dt.date) -> list[Row]:
    """The lab's log of one day: its checks first, then every test in the order of arrival."""
    checks = LabReport.objects.filter(lab_id=lab_id, kind=ReportKind.CALIBRATION, day=day)
    records = TestRecord.objects.filter(lab_id=lab_id, tested_on=day)
    return [*_checks(checks.order_by("pk")), *_tests(records)]


def of_cylinder(cylinder: Cylinder) -> list[Row]:
    """Every test of one cylinder by any lab, the oldest first."""
    return _tests(TestRecord.objects.filter(cylinder=cylinder).order_by("tested_on", "pk"))


def of_record(record: TestRecord) -> list[Row]:
    """One test, with the check that it leans on or carries."""
    checks = [record.daily_check] if record.daily_check else []
    return [*_checks(checks), *_tests(TestRecord.objects.filter(pk=record.pk))]


def _tests(records: Iterable[TestRecord]) -> list[Row]:
    rows: list[Row] = []
    for record in _with_lab(records):
        body = parse(loads(record.body))
        rows.append(_test(record, body))
    return rows


def _with_lab(records: Iterable[TestRecord]) -> list[TestRecord]:
    found = list(records)
    return list(
        TestRecord.objects.filter(pk__in=[record.pk for record in found])
        .select_related("lab", "daily_check")
        .order_by("tested_on", "pk")
    )


def _test(record: TestRecord, body: TestBody) -> Row:
    proof = body.method == "proof_pressure"
    elastic = record.answer["elastic_expansion"]  # a database keeps its two members in any order
    visual = body.visual
    return {
        "what": "test",
        "date_of_requalification": body.date.isoformat(),
        "serial_number": body.cylinder.serial,
        "specification_or_permit": _specification(body),
        "marked_pressure": _shown(body.cylinder.service_pressure),
        "actual_dimensions": _dimensions(body),
        "manufacturer_name_or_symbol": body.cylinder.manufacturer_mark,
        "visual_inspection_result": f"inside {visual.internal}, outside {visual.external}",
        "method": body.method.replace("_", " "),
        "actual_test_pressure": _shown(body.test_pressure),
        "total_expansion": "" if proof else _shown(body.total_expansion),
        "elastic_expansion": "" if proof else _told(elastic),
        "permanent_expansion": "" if proof else _shown(body.permanent_expansion),
        "percent_permanent_expansion": (
            "" if proof else str(record.answer["percent_permanent"] or "")
        ),
        "disposition": body.disposition,
        "reason_for_repeat_rejection_or_condemnation": body.reason,
        "date_of_earlier_test": _earlier(record, body),
        "wall_stress_method": _wall_stress(body),
        "test_operator": body.operator,
        "rin": body.rin,
        "lab_reference": record.lab_reference,
        "judged_as": record.verdict,
        "state": record.state,
        "daily_check": _check_of(record, body),
        "notes": body.visual.notes,
    }


def _checks(reports: Iterable[LabReport]) -> list[Row]:
    rows: list[Row] = []
    for report in reports:
        body = body_of(report)
        if not isinstance(body, CalibrationBody):
            continue
        rows += [
            {
                "what": "calibration test",
                "date_of_requalification": f"{body.date} {body.time:%H:%M}",
                "serial_number": body.cylinder_serial,
                "method": body.apparatus,
                "actual_test_pressure": _shown(seen.pressure),
                "total_expansion": _shown(seen.expansion),
                "elastic_expansion": _less(seen.expansion, seen.permanent),
                "permanent_expansion": _shown(seen.permanent),
                "disposition": report.came,
                "reason_for_repeat_rejection_or_condemnation": " ".join(report.answer["reasons"]),
                "test_operator": body.operator,
                "rin": report.lab.rin,
                "lab_reference": report.lab_reference,
                "judged_as": report.came,
                "state": report.state,
                "notes": _devices(body),
            }
            for seen in body.readings
        ]
    return rows


def _specification(body: TestBody) -> str:
    named = body.cylinder
    mark = "-".join(part for part in (named.authority, named.specification) if part)
    return " ".join(part for part in (mark, named.permit) if part)


def _dimensions(body: TestBody) -> str:
    sizes = {"diameter": body.cylinder.outside_diameter, "water": body.cylinder.water_capacity}
    return ", ".join(f"{name} {size}" for name, size in sizes.items() if size)


def _told(measured: dict[str, str] | None) -> str:
    return f"{measured['value']} {measured['unit']}" if measured else ""


def _shown(value: Quantity | None) -> str:
    return "" if value is None else str(value)


def _less(total: Quantity, permanent: Quantity) -> str:
    """Total less permanent, where both were read in one unit."""
    if total.unit != permanent.unit:
        return ""
    return str(Quantity(total.value - permanent.value, total.unit))


def _earlier(record: TestRecord, body: TestBody) -> str:
    """The day of the test that this one repeats."""
    if body.repeat_of is None:
        return ""
    first = TestRecord.objects.filter(lab=record.lab_id, lab_reference=body.repeat_of).first()
    return first.tested_on.isoformat() if first else f"not known here ({body.repeat_of})"


def _wall_stress(body: TestBody) -> str:
    plus = body.stamp is not None and body.stamp.symbol.strip() == "+"
    return "elastic expansion against REE" if plus and body.ree else "not told" if plus else ""


def _check_of(record: TestRecord, body: TestBody) -> str:
    if record.daily_check:
        mark = "" if record.daily_check.state == ReportState.STANDING else " (no longer counts)"
        return f"{record.daily_check.lab_reference}{mark}"
    if body.calibration:
        return f"in the record: {body.calibration.cylinder_serial} on {body.calibration.date}"
    return "none"


def _devices(body: CalibrationBody) -> str:
    gauge = f"gauge {body.gauge_serial} to {body.gauge.full_scale}" if body.gauge else ""
    device = f"expansion {body.expansion_serial}" if body.expansion_serial else ""
    reach = f" to {body.expansion_range}" if device and body.expansion_range else ""
    certificate = f"certificate {body.certificate} of {body.certified_on}"
    return ", ".join(part for part in (certificate, gauge, device + reach, body.notes) if part)
