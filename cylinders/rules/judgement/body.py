"""One requalification as a lab reports it: what 49 CFR 180.215 lists, in frozen dataclasses.

The shapes follow the published contract of the judge command and of the lab API; a field is
``None`` where the lab sent null or nothing. Nothing here has been judged yet.
"""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from cylinders.rules.calibration import Calibration
from cylinders.rules.cylinder_facts import Service
from cylinders.rules.direct_expansion import Water
from cylinders.rules.eddy_current import Examination
from cylinders.rules.gauge import Gauge
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity
from cylinders.rules.visual import Inspection

Method = Literal["water_jacket", "direct_expansion", "proof_pressure"]
Disposition = Literal["passed", "rejected", "condemned"]
PassFail = Literal["pass", "fail"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    """The cylinder as the lab read it from its shoulder."""

    serial: str
    manufacturer_mark: str
    tag: str | None = None
    authority: str | None = None
    specification: str | None = None
    permit: str | None = None
    service_pressure: Quantity | None = None
    water_capacity: Quantity | None = None
    outside_diameter: Quantity | None = None
    alloy: str | None = None
    first_test: Month | None = None


@dataclass(frozen=True, slots=True)
class ThreadInspection:
    """What the lab saw of the neck threads."""

    result: PassFail
    method: str
    notes: str


@dataclass(frozen=True, slots=True)
class Drying:
    """How the cylinder was dried, and how hot."""

    method: str
    temperature: Quantity | None


@dataclass(frozen=True, slots=True)
class Stamp:
    """The mark that the lab put on: month, four-figure year, symbol after the date."""

    month: int
    year: int
    symbol: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TestBody:
    """One test record. Expansions are ``None`` for a proof pressure test only.

    ``water``, ``gauge``, ``system_check_pressure`` and ``fills`` may be sent beyond the contract:
    water forced in by direct expansion, the gauge used, the pressure of a system check made on
    this cylinder before its test, pressurizations of a 3HT. ``daily_check`` is the lab's reference
    of the check of the day that it reported by itself, ``apparatus`` the one that was used.
    """

    __test__ = False  # not a test case, whatever its name

    lab_reference: str
    cylinder: Cylinder
    date: dt.date
    method: Method
    test_pressure: Quantity
    hold_seconds: Decimal
    total_expansion: Quantity | None = None
    permanent_expansion: Quantity | None = None
    elastic_expansion: Quantity | None = None
    ree: Quantity | None = None
    limit_percent: Decimal | None = None
    required_test_pressure: Quantity | None = None
    reading_increment: Quantity | None = None
    calibration: Calibration | None = None
    visual: Inspection
    eddy_current: Examination | None = None
    thread_inspection: ThreadInspection | None = None
    drying: Drying | None = None
    heat_exposure: Quantity | None = None
    use: Service
    disposition: Disposition
    reason: str = ""
    repeat_of: str | None = None
    operator: str
    rin: str
    stamp: Stamp | None = None
    water: Water | None = None
    gauge: Gauge | None = None
    system_check_pressure: Quantity | None = None
    fills: int | None = None
    daily_check: str | None = None
    apparatus: str | None = None
