"""What can be stamped on a cylinder: one frozen dataclass for each kind of mark.

``kind`` is the name that the answer's JSON uses. A field is ``None`` where it is not stamped, not
legible, or has two readings (then a question says so); nothing here is ever filled in by guess.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import ClassVar

from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity
from cylinders.rules.specifications import (
    SPECIAL_PERMIT,
    Material,
    Specification,
    find,
    minimum_test_pressure,
)

STAR = "star"


@dataclass(frozen=True, slots=True)
class OriginalMark:
    """A specification mark with what is stamped beside it (49 CFR 178.35(f)).

    ``symbol`` is the one that follows the first test date; ``plus_after_pressure`` a plus that
    follows the pressure, which is no rule mark. ``test_pressure`` is stamped on a DOT-39 only.
    """

    kind: ClassVar[str] = "original"
    authority: str | None
    spec: str
    service_pressure: Quantity | None = None
    permit: str | None = None
    permit_style: str | None = None
    test_pressure: Quantity | None = None
    plus_after_pressure: bool = False
    serial: str | None = None
    manufacturer_mark: str | None = None
    inspector_mark: str | None = None
    test_date: Month | None = None
    symbol: str | None = None
    ree_cc: Decimal | None = None
    alloy: str | None = None
    thread: str | None = None
    not_refillable: bool = False

    @property
    def row(self) -> Specification:
        """The row of the specification table; there is one for every mark that is read."""
        row = find(self.spec)
        if row is None:
            msg = f"no specification {self.spec!r} in the table"
            raise LookupError(msg)
        return row

    @property
    def material(self) -> Material | None:
        """Metal that the specification prescribes; ``None`` for a permit without an alloy."""
        return Material.ALUMINIUM if self.alloy else self.row.material

    @property
    def refillable(self) -> bool | None:
        """``False`` for a DOT-39 or an NRC mark; ``None`` where nothing is stamped about it."""
        return False if self.not_refillable or not self.row.refillable else None

    @property
    def min_test_pressure(self) -> Quantity | None:
        """Lowest test pressure, rounded up; ``None`` where only the permit can tell."""
        return minimum_test_pressure(self.row, self.service_pressure)

    @property
    def life_end(self) -> Month | None:
        """End of a life that the specification limits in years (3HT: 24)."""
        years = self.row.life_years
        return self.test_date.plus_months(12 * years) if years and self.test_date else None

    @property
    def is_permit(self) -> bool:
        """Whether a special permit or an exemption sets the figures."""
        return self.spec == SPECIAL_PERMIT


@dataclass(frozen=True, slots=True)
class UnMark:
    """A UN or ISO pressure receptacle's stamp, gathered by token (49 CFR 178.71(q))."""

    kind: ClassVar[str] = "original_un"
    standards: tuple[str, ...] = ()
    un: bool = False
    country_approval: str | None = None
    approval_no: str | None = None
    inspector_mark: str | None = None
    initial_date: Month | None = None
    test_pressure: Quantity | None = None
    working_pressure: Quantity | None = None
    empty_mass_kg: Decimal | None = None
    min_wall_mm: Decimal | None = None
    water_capacity_l: Decimal | None = None
    thread: str | None = None
    country_of_manufacture: str | None = None
    serial: str | None = None
    manufacturer_mark: str | None = None
    alloy: str | None = None
    steel_h: bool = False
    underwater: bool = False
    final_date: Month | None = None
    service_date: Month | None = None


@dataclass(frozen=True, slots=True)
class RequalificationMark:
    """Month, RIN, year and symbol of one requalification (49 CFR 180.213(d), (f)).

    ``rin`` is ``None`` where it is not legible or was not stamped. ``future`` marks a date after
    the day asked about: it counts for nothing. Several symbols are joined by ``/``.
    """

    kind: ClassVar[str] = "requalification"
    date: Month
    rin: str | None
    symbol: str | None = None
    future: bool = False

    @property
    def plus(self) -> bool:
        """Whether a plus follows this date."""
        return self.symbol is not None and "+" in self.symbol.split("/")

    @property
    def star(self) -> bool:
        """Whether a five-point star follows this date."""
        return self.symbol is not None and STAR in self.symbol.split("/")

    @property
    def rows(self) -> tuple[str, str] | None:
        """The two rows of the square, read clockwise: A123 is ``("A1", "32")``."""
        return (self.rin[:2], self.rin[3] + self.rin[2]) if self.rin else None


@dataclass(frozen=True, slots=True)
class MegcMark:
    """Requalification mark of a multiple-element gas container (49 CFR 180.217(e))."""

    kind: ClassVar[str] = "requalification_megc"
    date: Month
    symbol: str
    future: bool = False


@dataclass(frozen=True, slots=True)
class CondemnedMark:
    """The word CONDEMNED, or a series of X over the mark (49 CFR 180.205(i)(2))."""

    kind: ClassVar[str] = "condemned"
    crossed_out: bool = False


@dataclass(frozen=True, slots=True)
class RepairMark:
    """A repair that has a word of its own, such as RETHREAD (49 CFR 180.212(b)(2))."""

    kind: ClassVar[str] = "repair"
    word: str


@dataclass(frozen=True, slots=True)
class DateMark:
    """A date without a RIN: ``date`` is ``None`` while its order is open (see ``candidates``).

    ``order`` is how it is written ("YY/MM"); ``role`` what it stands for, ``None`` if unknown.
    ``letter`` is the one between month and year, standing for the inspector's symbol.
    """

    kind: ClassVar[str] = "date"
    date: Month | None
    order: str
    role: str | None = None
    candidates: tuple[str, ...] = ()
    symbol: str | None = None
    inspector_mark: str | None = None
    letter: str | None = None
    future: bool = False


@dataclass(frozen=True, slots=True)
class LifeMark:
    """FINAL or SERVICE date that stands without the rest of a UN stamp (178.71(q)(20), (21))."""

    kind: ClassVar[str] = "life"
    word: str
    date: Month


@dataclass(frozen=True, slots=True)
class ManufacturerMark:
    """A registered maker's number, M and four digits, that stands alone."""

    kind: ClassVar[str] = "manufacturer_mark"
    value: str


@dataclass(frozen=True, slots=True)
class ThreadMark:
    """A thread designation that stands alone."""

    kind: ClassVar[str] = "thread"
    value: str


Mark = (
    OriginalMark
    | UnMark
    | RequalificationMark
    | MegcMark
    | CondemnedMark
    | RepairMark
    | DateMark
    | LifeMark
    | ManufacturerMark
    | ThreadMark
)
