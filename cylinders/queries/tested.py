"""What the judgement of a test needs to know beside the lab's record."""

import datetime as dt

from django.utils import timezone

from cylinders.models import Cylinder, Lab, Life, RecordState, TestRecord
from cylinders.rules import judgement
from cylinders.rules.judgement import KnownCylinder, LabStanding, PreviousTest, Verdict
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity, read_number


def lab_standing(lab: Lab) -> LabStanding:
    """The lab's number and the last day on which it is in force."""
    return LabStanding(rin=lab.rin, valid_until=lab.rin_valid_until)


def known_cylinder(cylinder: Cylinder, *, came_at: dt.datetime | None) -> KnownCylinder:
    """The stored cylinder; both marks of a dual one, from the reading that was kept.

    ``came_at`` is when the visit in which it was tested began, None where none is known.
    """
    marks = [
        mark
        for mark in cylinder.decoded.get("marks", [])
        if mark["kind"] == "original" and mark.get("spec")
    ]
    specifications = {cylinder.specification: None, **{mark["spec"]: None for mark in marks}}
    pressures = [
        Quantity(read_number(pressure["value"]), pressure["unit"])
        for pressure in (mark.get("service_pressure") for mark in marks)
        if pressure
    ]
    stored = cylinder.pressure
    known = [stored, *pressures] if stored else pressures
    return KnownCylinder(
        serial=cylinder.serial or None,
        specifications=tuple(name for name in specifications if name),
        service_pressures=tuple(one for n, one in enumerate(known) if one not in known[:n]),
        manufacturer_mark=cylinder.manufacturer_mark or None,
        alloy=cylinder.alloy or None,
        first_test=Month.parse(cylinder.first_test) if cylinder.first_test else None,
        permit=cylinder.permit if cylinder.specification or cylinder.permit else None,
        condemned=cylinder.life == Life.CONDEMNED,
        came_on=came_at.astimezone(timezone.get_default_timezone()).date() if came_at else None,
    )


def previous_tests(
    cylinder: Cylinder, *, but: TestRecord | None = None
) -> tuple[PreviousTest, ...]:
    """Earlier records of this cylinder that count, oldest first; ``but`` is left out."""
    records = cylinder.records.filter(state=RecordState.ATTACHED).order_by("tested_on", "pk")
    return tuple(previous_test(record) for record in records if record != but)


def previous_test(record: TestRecord) -> PreviousTest:
    """One earlier record as the judgement wants it."""
    body = judgement.parse(judgement.loads(record.body))
    return PreviousTest(
        lab_reference=record.lab_reference,
        date=body.date,
        method=body.method,
        test_pressure=body.test_pressure,
        verdict=Verdict(record.verdict),
        total=body.total_expansion,
        permanent=body.permanent_expansion,
        over_limit=any(
            check["code"] == "permanent_expansion" and check["outcome"] == "fail"
            for check in record.answer["checks"]
        ),
    )
