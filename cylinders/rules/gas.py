"""Depth limits of a mix, and what its oxygen asks of the cylinder; exact, rounded to the safe side.

    MOD   (pO2 / FO2 - 1) x unit                      rounded down; the analyser's error is added
    EAD   (1 - FO2)(depth + unit) / 0.79 - unit       rounded up; the error is taken off the oxygen
    unit  33 fsw per ata, 10 msw per bar, 10.1325 msw per ata

The unit and the partial pressure are always said, for "29 m" and "28 m" are both right for 36 %
at 1.4: one in ata, one in bar. Formulas: second-hand, public diving texts; the equivalent depth and
the 0.79 after the US Navy Diving Manual, chapter 10. The oxygen limits are rows of
:mod:`cylinders.rules.practice`.

>>> mod(fo2=Decimal("0.32")).says
'MOD 111 fsw at pO2 1.4 ata, 32 % O2'
>>> mod(fo2=Decimal("0.36"), unit=DepthUnit.MSW).depth, mod(fo2=Decimal("0.28")).depth
(28, 132)
>>> equivalent_air_depth(fo2=Decimal("0.36"), depth=Decimal(25), unit=DepthUnit.MSW).depth
19
"""

import math
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from fractions import Fraction

from cylinders.rules.practice import ENRICHED_ABOVE, OXYGEN_CLEAN_ABOVE, PO2_LIMIT, PO2_WORKING
from cylinders.rules.quantity import ROUND_FLOOR, Quantity, round_fraction
from cylinders.rules.verdict import Certainty, Citation
from cylinders.rules.wording import say

AIR_NITROGEN = Fraction(79, 100)
_HUNDRED = 100
_HOT_FACTOR = Fraction(5, 4)
#: 173.301a(d): at 131 F (55 C) at most 5/4 of the service pressure, or of a plus filling pressure.
HOT_LIMIT = Citation("49 CFR 173.301a(d)", "", Certainty.SECOND_HAND)


class DepthUnit(Enum):
    """Unit of depth and of partial pressure: symbol, pressure unit, depth for one of it."""

    FSW = ("fsw", "ata", Fraction(33))
    MSW = ("msw", "bar", Fraction(10))
    MSW_ATA = ("msw", "ata", Fraction(101325, 10000))

    @property
    def symbol(self) -> str:
        """``fsw`` or ``msw``."""
        return self.value[0]

    @property
    def pressure(self) -> str:
        """``ata`` or ``bar``."""
        return self.value[1]

    @property
    def per_pressure(self) -> Fraction:
        """Depth of water for one unit of pressure."""
        return self.value[2]


@dataclass(frozen=True, slots=True)
class Depth:
    """A depth rounded to the safe side, the exact value behind it, and the line to print."""

    depth: int
    unit: DepthUnit
    exact: Fraction
    says: str


class MixError(ValueError):
    """Raised for a share of oxygen, a partial pressure or a depth that cannot be; says which."""


def mod(
    *,
    fo2: Decimal,
    po2: Decimal = PO2_WORKING.value,
    unit: DepthUnit = DepthUnit.FSW,
    analyser_tolerance: Decimal = Decimal(0),
) -> Depth:
    """Greatest depth at which the mix stays within ``po2`` (in ``unit.pressure``), rounded down.

    ``fo2`` and ``analyser_tolerance`` are shares (0.32, 0.01). Raises :class:`MixError` where the
    mix is over ``po2`` at the surface already, or ``po2`` is over 1.6.
    """
    if not (po2.is_finite() and 0 < po2 <= PO2_LIMIT.value):
        raise MixError(
            say(
                "pO2 {po2} is not possible: use up to {po2_limit}.",
                po2=po2,
                po2_limit=PO2_LIMIT.value,
            )
        )
    richest = min(_share(fo2) + _tolerance(analyser_tolerance), Fraction(1))
    exact = (Fraction(po2) / richest - 1) * unit.per_pressure
    if exact < 0:
        raise MixError(
            say(
                "{percent} O2 is over pO2 {po2} {pressure} at the surface.",
                percent=_percent(fo2),
                po2=po2,
                pressure=unit.pressure,
            )
        )
    added = f" + {_percent(analyser_tolerance)}" if analyser_tolerance else ""
    says = say(
        "MOD {depth} {symbol} at pO2 {po2} {pressure}, {percent}{added} O2",
        depth=math.floor(exact),
        symbol=unit.symbol,
        po2=po2,
        pressure=unit.pressure,
        percent=_percent(fo2),
        added=added,
    )
    return Depth(math.floor(exact), unit, exact, says)


def equivalent_air_depth(
    *,
    fo2: Decimal,
    depth: Decimal,
    unit: DepthUnit = DepthUnit.FSW,
    analyser_tolerance: Decimal = Decimal(0),
) -> Depth:
    """Depth on air with the same nitrogen pressure, rounded up and never above the surface."""
    if not depth.is_finite() or depth < 0:
        raise MixError(say("depth {depth} is not possible.", depth=depth))
    leanest = max(_share(fo2) - _tolerance(analyser_tolerance), Fraction(0))
    absolute = Fraction(depth) + unit.per_pressure
    exact = (1 - leanest) * absolute / AIR_NITROGEN - unit.per_pressure
    rounded = max(math.ceil(exact), 0)
    taken = f" - {_percent(analyser_tolerance)}" if analyser_tolerance else ""
    says = say(
        "EAD {rounded} {symbol} at {depth} {symbol}, {percent}{taken} O2",
        rounded=rounded,
        symbol=unit.symbol,
        depth=depth,
        percent=_percent(fo2),
        taken=taken,
    )
    return Depth(rounded, unit, exact, says)


def partial_pressure(*, share: Decimal, depth: Decimal, unit: DepthUnit) -> Fraction:
    """Exact partial pressure (in ``unit.pressure``) of a gas that is ``share`` of the mix."""
    return Fraction(share) * (Fraction(depth) / unit.per_pressure + 1)


def is_enriched(fo2: Decimal) -> bool:
    """Whether the mix counts as enriched: more than 23.5 % oxygen."""
    return _share(fo2) * _HUNDRED > Fraction(ENRICHED_ABOVE.value)


def common_practice_wants_clean(fo2: Decimal) -> bool:
    """Whether common practice asks for oxygen-clean equipment: more than 40 % oxygen."""
    return _share(fo2) * _HUNDRED > Fraction(OXYGEN_CLEAN_ABOVE.value)


def hot_limit(settled: Quantity) -> Quantity:
    """Most that a cylinder may show at 131 F (55 C): 5/4 of ``settled``, rounded down.

    ``settled`` is the service pressure, or the filling pressure of a plus fill.
    """
    exact = Fraction(settled.value) * _HOT_FACTOR
    return Quantity(round_fraction(exact, places=2, rounding=ROUND_FLOOR), settled.unit)


def _share(fo2: Decimal) -> Fraction:
    if not (fo2.is_finite() and 0 < fo2 <= 1):
        raise MixError(
            say("oxygen share {fo2} is not possible: give a share such as 0.32.", fo2=fo2)
        )
    return Fraction(fo2)


def _tolerance(tolerance: Decimal) -> Fraction:
    if not (tolerance.is_finite() and 0 <= tolerance < 1):
        raise MixError(
            say(
                "analyser tolerance {tolerance} is not possible: give a share such as 0.01.",
                tolerance=tolerance,
            )
        )
    return Fraction(tolerance)


def _percent(share: Decimal) -> str:
    return f"{(share * _HUNDRED).normalize():f} %"
