"""Which cylinders stand on something that is found to be wrong: an instrument, a person, a lab.

A calibrated cylinder that had drifted, eddy current equipment without its ring, an operator without
training, a lab's number that had run out: every record that names it in a span of days, whatever it
counts for now, so that each owner can be told. Records are kept as they were sent.
"""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from cylinders.models import LabReport, TestRecord
from cylinders.rules.judgement import loads
from cylinders.rules.lab_reports.bodies import ReportKind

#: the columns of the list
FIELDS = (
    *("tested_on", "lab", "lab_reference", "state", "verdict", "cylinder", "serial", "in_service"),
    *("owner", "email", "phone"),
)


@dataclass(frozen=True, slots=True)
class Suspect:
    """What is asked for; each that is given must be named by the record, exactly as written.

    ``calibrated_cylinder`` is its serial, ``equipment`` that of an eddy current examination,
    or the apparatus, gauge or expansion device of a reported check; ``rin`` a lab's identification
    number.
    """

    calibrated_cylinder: str = ""
    equipment: str = ""
    operator: str = ""
    rin: str = ""

    @property
    def asks(self) -> bool:
        """Whether anything is asked for at all."""
        return any((self.calibrated_cylinder, self.equipment, self.operator, self.rin))


def affected(*, suspect: Suspect, first: dt.date, last: dt.date) -> Iterator[TestRecord]:
    """Every record of a test between two days, both included, that names the suspect.

    By day of the test, then by arrival; with cylinder, owner and lab at hand. Raises ``ValueError``
    where nothing is asked for: a recall of everything is a slip.
    """
    if not suspect.asks:
        raise ValueError("say which calibrated cylinder, equipment, operator or lab's number")
    rows = (
        TestRecord.objects.filter(tested_on__gte=first, tested_on__lte=last)
        .select_related("cylinder__owner", "lab", "daily_check")
        .order_by("tested_on", "pk")
    )
    seen = _seen_by(first, last) if suspect.equipment else {}
    return (row for row in rows.iterator() if _names(row, suspect, seen))


def row(record: TestRecord) -> dict[str, str]:
    """One line of the list of a recall, by :data:`FIELDS`: the record, its cylinder, its owner."""
    cylinder, owner = record.cylinder, record.cylinder.owner
    return {
        "tested_on": record.tested_on.isoformat(),
        "lab": record.lab.rin,
        "lab_reference": record.lab_reference,
        "state": record.state,
        "verdict": record.verdict,
        "cylinder": str(cylinder),
        "serial": cylinder.serial,
        "in_service": cylinder.life,
        "owner": owner.name,
        "email": owner.email,
        "phone": owner.phone,
    }


def _names(record: TestRecord, suspect: Suspect, seen: Mapping[int, set[object]]) -> bool:
    body: Any = loads(record.body)
    check: Any = loads(record.daily_check.body) if record.daily_check else {}
    asked: dict[str, set[object]] = {
        "calibrated_cylinder": {
            _inside(body, "calibration", "cylinder_serial"),
            check.get("cylinder_serial"),
        },
        "equipment": {
            _inside(body, "eddy_current", "equipment"),
            *_equipment(check),
            *seen.get(record.work_order_id or 0, ()),
        },
        "operator": {body.get("operator"), check.get("operator")},
        "rin": {body.get("rin")},
    }
    return all(getattr(suspect, name) in {"", *said} for name, said in asked.items())


def _equipment(check: Mapping[str, Any]) -> tuple[object, ...]:
    """What a reported check was read on: apparatus, gauge and expansion device by their serials."""
    device = _inside(check, "expansion_device", "serial")
    return (check.get("apparatus"), check.get("gauge_serial"), device)


def _seen_by(first: dt.date, last: dt.date) -> dict[int, set[object]]:
    """The equipment of the reported inspections of each visit that was tested in these days."""
    visits = TestRecord.objects.filter(tested_on__gte=first, tested_on__lte=last)
    reports = LabReport.objects.filter(
        kind=ReportKind.INSPECTION, work_order__in=visits.values("work_order")
    )
    found: dict[int, set[object]] = {}
    for order, body in reports.values_list("work_order", "body"):
        told: Any = loads(body)
        if told.get("equipment"):
            found.setdefault(order, set()).add(told["equipment"])
    return found


def _inside(body: Mapping[str, Any], outer: str, inner: str) -> object:
    return (body.get(outer) or {}).get(inner)
