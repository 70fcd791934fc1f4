"""Direct expansion: the water forced in, less what its compression took, is the expansion.

49 CFR 180.203, 2019-10-01: a volumetric test either sees the outside grow (water jacket) or forces
water in and corrects for its compressibility (direct expansion). With V the water capacity and r
the density of water at test pressure over that at atmospheric pressure, same temperature:

    forced in                  V(r-1) + (internal expansion) r
    internal expansion         (forced in - V(r-1)) / r

The density is that of IAPWS-95 (release R6-95), computed by a library in floating point. Its value
is good to one part in 10 000 here (from memory: better than 0.02 % up to 1000 bar; the arithmetic
adds less than 1e-9), so the result is an interval, and a decision takes the end that is against
passing: the smaller total expansion. Table methods of other standards differ from IAPWS-95 by up to
1.5 % of the compression (computed beside one such table from memory), so a stated total may differ.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from cylinders.rules.quantity import ROUND_CEILING, ROUND_FLOOR, Quantity, round_fraction
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say

_SOURCE = Citation("49 CFR 180.203; water density by IAPWS R6-95", "2019-10-01")
_NOT_SHOWN = Citation("49 CFR 180.203", "2019-10-01")
_TABLES = Citation(
    "water density by IAPWS R6-95; spread of table methods", "", Certainty.FROM_MEMORY
)
_ATMOSPHERE_PA = Fraction(101_325)
_KELVIN = 273.15
#: part of the density ratio that is not relied upon
RATIO_BOUND = Fraction(1, 10_000)
#: part of the compression by which table methods were seen to differ, doubled
_TABLE_SPREAD = Fraction(3, 100)
_COLDEST, _WARMEST = Quantity(Decimal(0), "C"), Quantity(Decimal(50), "C")
_HIGHEST_PA = Fraction(200_000_000)


@dataclass(frozen=True, slots=True)
class Water:
    """What was pumped: ``forced_in`` measured at atmospheric pressure, and its temperature."""

    forced_in: Quantity
    temperature: Quantity


@dataclass(frozen=True, slots=True)
class Span:
    """A volume in mL known to lie between ``low`` and ``high``."""

    low: Fraction
    high: Fraction

    def __str__(self) -> str:
        """Both ends to 0.1 cc, rounded outward."""
        low = round_fraction(self.low, places=1, rounding=ROUND_FLOOR)
        high = round_fraction(self.high, places=1, rounding=ROUND_CEILING)
        return say("{low} to {high} cc", low=low, high=high)


@lru_cache(maxsize=64)
def density(kelvin: float, pascal: float) -> float:
    """Density of water in kg/m3 by IAPWS-95 at an absolute pressure; a float, see the bound.

    The library is loaded here and nowhere else: it costs a third of a second.
    """
    # loaded only where a direct expansion test needs it; the package has no type stubs
    from iapws import IAPWS95  # type: ignore[import-untyped]  # noqa: PLC0415 - see above

    return float(IAPWS95(T=kelvin, P=pascal / 1e6).rho)


def in_range(water: Water, pressure: Quantity) -> bool:
    """Whether the formulation is used where this service has checked it: 0-50 C, to 2000 bar."""
    return _COLDEST <= water.temperature <= _WARMEST and 0 <= pressure.base <= _HIGHEST_PA


def density_ratio(temperature: Quantity, pressure: Quantity) -> Fraction:
    """Density at gauge ``pressure`` over density at atmospheric pressure (a float made exact)."""
    kelvin = float(temperature.base) + _KELVIN
    at_pressure = density(kelvin, float(pressure.base + _ATMOSPHERE_PA))
    return Fraction(at_pressure) / Fraction(density(kelvin, float(_ATMOSPHERE_PA)))


def internal_expansion(water: Water, capacity: Quantity, pressure: Quantity) -> Span:
    """Total internal expansion in mL, with the bound on the density ratio."""
    ratio = density_ratio(water.temperature, pressure)
    ends = (ratio * (1 + RATIO_BOUND), ratio * (1 - RATIO_BOUND))
    low, high = ((water.forced_in.base - capacity.base * (end - 1)) / end for end in ends)
    return Span(low, high)


def check(
    total: Quantity, water: Water | None, capacity: Quantity | None, pressure: Quantity
) -> Finding:
    """Whether the stated total follows from the water forced in (code ``plausible``).

    ``UNKNOWN`` where the correction cannot be followed, ``FAIL`` where the stated total differs
    by more than the bound and the spread of table methods.
    """
    if water is None or capacity is None or not in_range(water, pressure):
        says = say(
            "The correction for the compression of water cannot be followed: water "
            "forced in, its temperature (0 to 50 C) and the water capacity are needed."
        )
        return Finding("plausible", Outcome.UNKNOWN, says, _NOT_SHOWN)
    span = internal_expansion(water, capacity, pressure)
    spread = _TABLE_SPREAD * (water.forced_in.base - span.low)
    says = say(
        "Total expansion {total} is given; the water forced in makes it {span}.",
        total=total,
        span=span,
    )
    if span.low <= total.base <= span.high:
        return Finding("plausible", Outcome.OK, says, _SOURCE)
    if span.low - spread <= total.base <= span.high + spread:
        return Finding("plausible", Outcome.CAUTION, says, _TABLES)
    return Finding(
        "plausible", Outcome.FAIL, say("{says} Ask the lab for its readings.", says=says), _TABLES
    )


def possible(total: Quantity, water: Water | None) -> Finding:
    """A total above the water forced in cannot be (code ``numbers_possible``)."""
    if water is not None and total > water.forced_in:
        says = say(
            "Total expansion {total} cannot be: only {forced_in} of water went in.",
            total=total,
            forced_in=water.forced_in,
        )
        return Finding("numbers_possible", Outcome.FAIL, says, _NOT_SHOWN)
    says = say("The total is not above the water forced in.")
    return Finding("numbers_possible", Outcome.OK, says, _NOT_SHOWN)
