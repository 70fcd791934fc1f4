"""Quantities that keep the number and the unit they were stamped or read in.

Conversions are exact (rational numbers), so a comparison never turns on a rounding. The
conversion factors are definitions: the international inch (25.4 mm), the avoirdupois pound
(0.45359237 kg) and standard gravity (9.80665 m/s2), NIST SP 811 (2008) appendix B.

>>> psi(3000).convert("bar", places=1, rounding=ROUND_FLOOR)
Quantity(value=Decimal('206.8'), unit='bar')
>>> psi(5000) < Quantity(Decimal("345"), "bar")
True
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from functools import lru_cache, total_ordering
from typing import Final, Literal

from cylinders.rules.wording import say

_INCH_M = Fraction(254, 10000)
_POUND_FORCE_N = Fraction(45359237, 100000000) * Fraction(980665, 100000)

#: unit -> (dimension, factor to the dimension's base: Pa, mL, mm, kelvin-sized degree)
UNITS: dict[str, tuple[str, Fraction]] = {
    "psi": ("pressure", _POUND_FORCE_N / _INCH_M**2),
    "bar": ("pressure", Fraction(100_000)),
    "kPa": ("pressure", Fraction(1_000)),
    "MPa": ("pressure", Fraction(1_000_000)),
    "cc": ("volume", Fraction(1)),
    "mL": ("volume", Fraction(1)),
    "L": ("volume", Fraction(1_000)),
    "in3": ("volume", (_INCH_M * 100) ** 3),
    "C": ("temperature", Fraction(1)),
    "F": ("temperature", Fraction(5, 9)),
    "mm": ("length", Fraction(1)),
    "in": ("length", _INCH_M * 1000),
}
_FREEZING_F = 32
_NUMBER = re.compile(r"[+-]?[0-9]{1,18}(?:\.[0-9]{1,18})?", re.ASCII)

#: how many digits a whole number may have
MOST_DIGITS: Final = 18
#: the sizes of a number that is not whole
_LEAST: Final = Decimal("1e-9")
_MOST: Final = Decimal("1e15")

Rounding = Literal["ROUND_CEILING", "ROUND_FLOOR"]


class QuantityError(ValueError):
    """Raised when a number or unit cannot be used; says which, and what is accepted."""


@total_ordering
@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """A decimal number with its unit, compared exactly across units of the same dimension.

    Raises :class:`QuantityError` for an unknown unit and when two dimensions are compared.
    """

    value: Decimal
    unit: str

    def __post_init__(self) -> None:
        """Refuse an unknown unit or a number that is not finite at once."""
        if self.unit not in UNITS:
            msg = say(
                "unknown unit {unit!r}; use one of {units}", unit=self.unit, units=", ".join(UNITS)
            )
            raise QuantityError(msg)
        if not self.value.is_finite():
            msg = say("{value} is not a number that can be measured", value=self.value)
            raise QuantityError(msg)

    @property
    def dimension(self) -> str:
        """``pressure``, ``volume``, ``temperature`` or ``length``."""
        return UNITS[self.unit][0]

    @property
    def base(self) -> Fraction:
        """The exact value in the dimension's base unit (Pa, mL, degree Celsius, mm)."""
        return _exactly(self.value, self.unit)

    def _other(self, other: Quantity) -> Fraction:
        if self.dimension != other.dimension:
            msg = say(
                "cannot compare {this} ({dimension}) with {other} ({theirs})",
                this=self,
                dimension=self.dimension,
                other=other,
                theirs=other.dimension,
            )
            raise QuantityError(msg)
        return other.base

    def __eq__(self, other: object) -> bool:
        """Equal when both are the same amount, whatever the unit."""
        if not isinstance(other, Quantity):
            return NotImplemented
        if self.unit == other.unit:
            return self.value == other.value
        return self.base == self._other(other)

    def __lt__(self, other: Quantity) -> bool:
        """Exact comparison; never rounds."""
        if self.unit == other.unit:
            return self.value < other.value
        return self.base < self._other(other)

    def __hash__(self) -> int:
        """Hash by amount, so equal quantities are one key."""
        return hash((self.dimension, self.base))

    def __str__(self) -> str:
        """Number as entered, a space, the unit."""
        return f"{self.value:f} {self.unit}"

    def convert(self, unit: str, *, places: int, rounding: Rounding) -> Quantity:
        """Return this amount in ``unit`` with ``places`` decimals, rounded the stated way.

        The caller names the rounding because it decides who carries the error: a required minimum
        is rounded up, a pressure that was reached is rounded down.
        """
        dimension, factor = UNITS[unit]
        if dimension != self.dimension:
            msg = say("cannot show {this} in {unit}", this=self, unit=unit)
            raise QuantityError(msg)
        exact = self.base / factor + (_FREEZING_F if unit == "F" else 0)
        return Quantity(round_fraction(exact, places=places, rounding=rounding), unit)


@lru_cache(maxsize=4096)
def _exactly(value: Decimal, unit: str) -> Fraction:
    """Kept, because one judgement asks for the same few amounts a hundred times."""
    offset = _FREEZING_F if unit == "F" else 0
    return (Fraction(value) - offset) * UNITS[unit][1]


def round_fraction(exact: Fraction, *, places: int, rounding: Rounding) -> Decimal:
    """Round an exact rational to ``places`` decimals, up or down as named."""
    scaled = exact * 10**places
    whole = (
        -(-scaled.numerator // scaled.denominator)
        if rounding == ROUND_CEILING
        else scaled.numerator // scaled.denominator
    )
    return Decimal(f"{whole}e{-places}")  # exact; scaleb would round to 28 digits


def psi(value: Decimal | int | str) -> Quantity:
    """Pressure in pounds-force per square inch."""
    return Quantity(Decimal(value), "psi")


def bar(value: Decimal | int | str) -> Quantity:
    """Pressure in bar."""
    return Quantity(Decimal(value), "bar")


def cc(value: Decimal | int | str) -> Quantity:
    """Volume in cubic centimetres."""
    return Quantity(Decimal(value), "cc")


def read_number(text: str) -> Decimal:
    """Read a plain decimal ("62.5"); digits are ASCII, no exponent, no grouping, no blanks.

    Raises :class:`QuantityError` for anything else, so that "1_0", "1e3" and digits of other
    scripts are asked about and never taken for a number.
    """
    if not _NUMBER.fullmatch(text):
        msg = say("{text!r} is not a plain decimal number", text=text[:40])
        raise QuantityError(msg)
    return Decimal(text)


def without_exponent(number: int | Decimal) -> Decimal:
    """A number of a JSON text, written plainly; whole below 10**18, or of a size instruments show.

    Raises :class:`QuantityError` for any other.
    """
    exact = Decimal(number)
    if exact.is_finite():
        size = exact.copy_abs()
        whole = size < 10**MOST_DIGITS and size == size.to_integral_value()
        if whole or _LEAST <= size <= _MOST:
            return Decimal(f"{exact:f}")
    msg = say("the number is out of range: send it as it was read")
    raise QuantityError(msg)


def as_json(quantity: Quantity | None) -> dict[str, str] | None:
    """``{"value": "5000", "unit": "psi"}``, the shape every command and the API use."""
    if quantity is None:
        return None
    return {"value": f"{quantity.value:f}", "unit": quantity.unit}


__all__ = [
    "MOST_DIGITS",
    "ROUND_CEILING",
    "ROUND_FLOOR",
    "UNITS",
    "Quantity",
    "QuantityError",
    "as_json",
    "bar",
    "cc",
    "psi",
    "read_number",
    "round_fraction",
    "without_exponent",
]
