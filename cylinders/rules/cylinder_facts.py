"""What is known of one cylinder when a rule is asked about it: plain values, nothing from a table.

``None`` always means "not known"; the rules never read it as good.
"""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity
from cylinders.rules.specifications import find


class Service(StrEnum):
    """What the cylinder is used for; the longer periods of the table hang on it."""

    SCUBA = "scuba"
    SCBA = "scba"
    OXYGEN = "oxygen"
    FIRE = "fire"
    INDUSTRIAL = "industrial"
    NON_CORROSIVE = "non_corrosive"  # exclusively, 180.209(e) or (g)
    LISTED_GAS = "listed_gas"  # exclusively a gas named in 180.209(f) or (h)
    ACETYLENE = "acetylene"

    @property
    def breathing(self) -> bool:
        """Whether somebody breathes from it: scuba, SCBA, oxygen."""
        return self in (Service.SCUBA, Service.SCBA, Service.OXYGEN)


class Gas(StrEnum):
    """What it is filled with."""

    AIR = "air"
    NITROX = "nitrox"
    OXYGEN = "oxygen"


@dataclass(frozen=True, slots=True)
class Requalification:
    """One requalification mark or record: its month and the symbol after the date (``""``: none).

    Symbols as in :mod:`cylinders.rules.symbols`, several joined by ``/`` ("+/VE"), and ``"F"`` for
    the German strength test.
    """

    month: Month
    symbol: str = ""

    @property
    def symbols(self) -> frozenset[str]:
        """Each symbol by itself; the plain mark is ``""``."""
        return frozenset(self.symbol.split("/"))


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderFacts:
    """One cylinder as known: its marks, its dates, its use.

    ``specification`` is a code of :mod:`cylinders.rules.specifications`, or the ISO standard of a
    UN receptacle (``authority`` "UN"). ``stamped_due`` is a next date that the stamp itself gives
    (Germany), ``life_end`` a FINAL or SERVICE month. ``fills`` counts pressurizations where the
    life runs out by number. ``relief_is_frangible_disc``: the valve's relief is a disc without
    fusible metal that bursts at or below the test pressure. ``underwater_mark``: the UW of a UN
    composite. ``not_refillable``: stamped so, on any specification. ``last_*`` are the months in
    which a duty was last done.
    """

    authority: str | None = None
    specification: str | None = None
    permit: str | None = None
    service_pressure: Quantity | None = None
    material: str | None = None
    alloy: str | None = None
    made_outside_us: bool | None = None
    first_test: Month | None = None
    requalifications: tuple[Requalification, ...] = ()
    stamped_due: Month | None = None
    last_visual: Month | None = None
    last_thread_examination: Month | None = None
    last_oxygen_clean: Month | None = None
    last_valve_service: Month | None = None
    life_end: Month | None = None
    fills: int | None = None
    oxygen_clean: bool | None = None
    relief_is_frangible_disc: bool | None = None
    underwater_mark: bool | None = None
    condemned: bool = False
    rejected: bool = False
    not_refillable: bool = False
    service: Service = Service.SCUBA
    gas: Gas = Gas.AIR
    country: str = "US"

    @property
    def single_trip(self) -> bool:
        """Whether refilling is forbidden: DOT-39, or stamped as not refillable."""
        spec = find(self.specification or "")
        return self.not_refillable or (spec is not None and not spec.refillable)

    def marks_until(self, on: dt.date) -> tuple[Requalification, ...]:
        """Requalification marks not later than the month of ``on``, latest first."""
        past = [mark for mark in self.requalifications if mark.month <= Month.of(on)]
        return tuple(sorted(past, key=lambda mark: mark.month, reverse=True))

    def first_test_until(self, on: dt.date) -> Month | None:
        """The original test month, unless it lies after the month of ``on``."""
        known = self.first_test is not None and self.first_test <= Month.of(on)
        return self.first_test if known else None
