"""The shape of one specification row and of its interval rows.

A figure that was repealed is a row with an end day, not a deleted row; the caller passes the day
it asks about, so a test of 2015 is still judged by what held in 2015.
"""

import datetime as dt
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from cylinders.rules.quantity import Quantity
from cylinders.rules.verdict import Certainty, Citation

EDITION = "2019-10-01"


class Material(StrEnum):
    """Metal of the shell; decides the over-heating limit and the visual standard."""

    STEEL = "steel"
    ALUMINIUM = "aluminium"
    NICKEL = "nickel"


class PressureRule(StrEnum):
    """How the minimum test pressure of a requalification follows from the mark."""

    FACTOR = "factor"  # factor times the marked service pressure
    FIXED = "fixed"  # the same for every cylinder of the specification
    NOT_REQUIRED = "not_required"  # no pressure test is asked for
    NEVER = "never"  # a test, like a refill, is forbidden
    PERMIT = "permit"  # only the special permit can tell
    OTHER = "other"  # not a pressure test: the text named in ``says``


class Interval(StrEnum):
    """Which period of the table a row gives, and so which conditions it needs."""

    GENERAL = "general"
    STAR = "star"  # (b): 3A and 3AA, dry gases, never under water
    NON_CORROSIVE = "non_corrosive"  # (e)
    LISTED_GAS = "listed_gas"  # (f), (h): named gases only
    EXTERNAL_VISUAL = "external_visual"  # (g): visual instead of a pressure test
    FIRE_EXTINGUISHER = "fire_extinguisher"  # (j)
    ACETYLENE_SHELL = "acetylene_shell"  # (i)
    ACETYLENE_FILLER = "acetylene_filler"  # (i)


def cfr(section: str, certainty: Certainty = Certainty.READ, edition: str = EDITION) -> Citation:
    """Cite a section of 49 CFR in the edition that was read."""
    return Citation(f"49 CFR {section}", edition, certainty)


@dataclass(frozen=True, slots=True)
class IntervalRow:
    """One period of the table: ``years`` after a test of ``method``, under ``basis``.

    ``since`` and ``until`` are the first and last day on which the row holds (``None``: open).
    ``method`` is ``""`` for any, ``"volumetric"``, ``"proof"`` or ``"visual"``; ``first_years``
    is set where the first period after manufacture is longer than the later ones.
    """

    basis: Interval
    years: int
    cites: Citation
    method: str = ""
    first_years: int | None = None
    since: dt.date | None = None
    until: dt.date | None = None

    def holds_on(self, day: dt.date) -> bool:
        """Whether the row is in force on ``day``."""
        return (self.since is None or self.since <= day) and (
            self.until is None or day <= self.until
        )


@dataclass(frozen=True, slots=True)
class Specification:
    """One specification: what its mark means for test pressure, period, limit and filling.

    Pressures are psi (psig) unless the specification is a metric Canadian one (then bar).
    ``factor`` and ``fixed_test`` belong to ``test``; ``permanent_limit_percent`` is per cent of
    total expansion, ``None`` where no expansion test is made or only a permit can tell.
    """

    code: str
    title: str
    cites: Citation
    test: PressureRule
    material: Material | None = None
    factor: Fraction | None = None
    fixed_test: Quantity | None = None
    test_says: str = ""
    test_cites: Citation = field(default_factory=lambda: cfr("180.209(a) Table 1"))
    service_min: Decimal | None = None
    service_max: Decimal | None = None
    service_fixed: Decimal | None = None
    unit: str = "psi"
    permanent_limit_percent: Decimal | None = Decimal(10)
    limit_cites: Citation = field(default_factory=lambda: cfr("180.205(i)(1)(iv)"))
    plus_allowed: bool = False
    star_allowed: bool = False
    refillable: bool = True
    us_equivalent: str | None = None
    life_years: int | None = None
    life_fills: int | None = None
    life_cites: Citation | None = None
    ree_condemns: bool = False
    intervals: tuple[IntervalRow, ...] = ()
    notes: tuple[str, ...] = ()

    def general_interval(self, on: dt.date) -> IntervalRow | None:
        """The period that needs no further condition, in force on ``on``."""
        return next((r for r in self.intervals_on(on) if r.basis is Interval.GENERAL), None)

    def intervals_on(self, day: dt.date) -> tuple[IntervalRow, ...]:
        """Every period row in force on ``day``."""
        return tuple(row for row in self.intervals if row.holds_on(day))
