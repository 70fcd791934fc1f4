"""A lab's reports as they were sent, in frozen dataclasses; nothing here has been judged yet.

The fields are those of the records that 49 CFR 180.215(b) and part 180 appendix C ask for
(2019-10-01 edition): the calibration test of each day, and each examination of a cylinder.
"""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from cylinders.rules.calibration import Calibration, Observed, Point
from cylinders.rules.gauge import Gauge
from cylinders.rules.judgement.body import Cylinder, PassFail
from cylinders.rules.quantity import Quantity


class ReportKind(StrEnum):
    """What a report is about."""

    CALIBRATION = "calibration"
    INSPECTION = "inspection"
    DRYING = "drying"


class Gate(StrEnum):
    """An inspection that stands before the pressure test (49 CFR 180.205(f), 180.209(m))."""

    EDDY_CURRENT = "eddy_current"
    THREADS = "threads"
    INSIDE = "inside"
    OUTSIDE = "outside"


class Came(StrEnum):
    """What a report comes to; ``UNKNOWN``: something is not known, or contradicts."""

    PASSED = "passed"
    FAILED = "failed"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationBody:
    """One check of an apparatus with a calibrated cylinder, ``time`` of the lab's own clock."""

    lab_reference: str
    date: dt.date
    time: dt.time
    apparatus: str
    cylinder_serial: str
    certificate: str
    certified_on: dt.date
    points: tuple[Point, ...]
    readings: tuple[Observed, ...]
    gauge: Gauge | None = None
    gauge_serial: str = ""
    expansion_serial: str = ""
    expansion_range: Quantity | None = None
    expansion_increment: Quantity | None = None
    operator: str = ""
    notes: str = ""

    def at(self, reading: Observed) -> Calibration:
        """The check with one of its readings, as a test record would carry it."""
        return Calibration(self.cylinder_serial, self.date, self.points, reading)


@dataclass(frozen=True, slots=True, kw_only=True)
class InspectionBody:
    """One inspection of one cylinder; ``crack_thread_lengths`` for eddy current only."""

    lab_reference: str
    cylinder: Cylinder
    date: dt.date
    gate: Gate
    result: PassFail
    crack_thread_lengths: Decimal | None = None
    standard: str = ""
    method: str = ""
    equipment: str = ""
    reference_ring: str = ""
    operator: str = ""
    notes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DryingBody:
    """How one cylinder was dried; the temperature is the hottest that the metal reached."""

    lab_reference: str
    cylinder: Cylinder
    date: dt.date
    method: str
    temperature: Quantity | None = None
    minutes: Decimal | None = None
    operator: str = ""
    notes: str = ""


Body = CalibrationBody | InspectionBody | DryingBody
