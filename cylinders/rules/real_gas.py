"""How the pressure in a full cylinder moves with temperature: an estimate from real-gas data.

Air by its reference equation of state, J. Phys. Chem. Ref. Data 29, 331 (2000), 60 to 2000 K;
coefficients read second-hand. The water volume is taken as constant and nitrox as air. This is an
estimate for people, in binary floating point, and never allows a fill: pressures that were read do.

>>> settled(Quantity(Decimal(3000), "psi"), at=fahrenheit(120), to=fahrenheit(70)).says
'Estimate: 3000 psi at 120 F is about 2648 psi at 70 F (real-gas data for air).'
"""

import math
from dataclasses import dataclass
from decimal import Decimal

from cylinders.rules.quantity import UNITS, Quantity, QuantityError
from cylinders.rules.verdict import Certainty, Citation
from cylinders.rules.wording import say

CITES = Citation(
    "equation of state of air, J. Phys. Chem. Ref. Data 29, 331",
    "2000",
    Certainty.SECOND_HAND,
)
_GAS_CONSTANT = 8.31451  # J/(mol K), as in the equation's own paper
_REDUCING_KELVIN, _REDUCING_DENSITY = 132.6312, 10447.7  # K, mol/m3
_KG_PER_MOL = 0.0289586
_ATMOSPHERE_PA = 101_325.0
_KELVIN = 273.15

#: The range that a cylinder meets in a shop; outside it nothing is estimated.
_COLDEST_C, _HOTTEST_C = -40, 70
_HIGHEST = Quantity(Decimal(700), "bar")
_DENSEST = 40_000.0  # mol/m3: beyond 700 bar at the coldest
_HALVINGS = 60
_PLACES = 3

#: Residual Helmholtz energy: (factor, power of density, power of temperature, decay power).
_TERMS = (
    (0.118160747229, 1, 0, 0),
    (0.713116392079, 1, 0.33, 0),
    (-1.61824192067, 1, 1.01, 0),
    (0.0714140178971, 2, 0, 0),
    (-0.0865421396646, 3, 0, 0),
    (0.134211176704, 3, 0.15, 0),
    (0.0112626704218, 4, 0, 0),
    (-0.0420533228842, 4, 0.2, 0),
    (0.0349008431982, 4, 0.35, 0),
    (0.000164957183186, 6, 1.35, 0),
    (-0.101365037912, 1, 1.6, 1),
    (-0.17381369097, 3, 0.8, 1),
    (-0.0472103183731, 5, 0.95, 1),
    (-0.0122523554253, 6, 1.25, 1),
    (-0.146629609713, 1, 3.6, 2),
    (-0.0316055879821, 3, 6, 2),
    (0.000233594806142, 11, 3.25, 2),
    (0.0148287891978, 1, 3.5, 3),
    (-0.00938782884667, 3, 15, 3),
)


@dataclass(frozen=True, slots=True)
class Estimate:
    """An estimated gauge pressure and the sentence that says that it is one."""

    pressure: Quantity
    says: str
    cites: Citation = CITES


def fahrenheit(value: int) -> Quantity:
    """A temperature in degrees Fahrenheit."""
    return Quantity(Decimal(value), "F")


def settled(gauge: Quantity, *, at: Quantity, to: Quantity) -> Estimate:
    """Estimate what a gauge pressure read ``at`` one temperature will be at another.

    Rounded to a whole unit: up when it warms, down when it cools. Raises
    :class:`~cylinders.rules.quantity.QuantityError` outside -40 to 70 C or over 700 bar.
    """
    density = _density(gauge, at)
    pascal = _pressure_pa(density, _kelvin(to)) - _ATMOSPHERE_PA
    exact = round(pascal / float(UNITS[gauge.unit][1]), _PLACES)
    whole = math.ceil(exact) if at < to else math.floor(exact)
    pressure = Quantity(Decimal(whole), gauge.unit)
    says = say(
        "Estimate: {gauge} at {at} is about {pressure} at {to} (real-gas data for air).",
        gauge=gauge,
        at=at,
        pressure=pressure,
        to=to,
    )
    return Estimate(pressure, says)


def free_air_litres(*, water_capacity: Quantity, gauge: Quantity, at: Quantity) -> Decimal:
    """Estimate the free air in a cylinder, in litres at one atmosphere and the same temperature."""
    ratio = _density(gauge, at) / _density_at(_ATMOSPHERE_PA, _kelvin(at))
    return Decimal(str(round(float(water_capacity.base) / 1000 * ratio, 1)))


def air_mass_kg(*, water_capacity: Quantity, gauge: Quantity, at: Quantity) -> Decimal:
    """Estimate the mass of air in a cylinder, in kilograms."""
    cubic_metres = float(water_capacity.base) / 1_000_000
    return Decimal(str(round(cubic_metres * _density(gauge, at) * _KG_PER_MOL, _PLACES)))


def compressibility(*, absolute: Quantity, at: Quantity) -> Decimal:
    """Compressibility factor of air at an absolute pressure."""
    pascal, kelvin = float(absolute.base), _kelvin(at)
    ratio = pascal / (_density_at(pascal, kelvin) * _GAS_CONSTANT * kelvin)
    return Decimal(str(round(ratio, 4)))


def _kelvin(temperature: Quantity) -> float:
    celsius = temperature.base
    if temperature.dimension != "temperature" or not _COLDEST_C <= celsius <= _HOTTEST_C:
        raise QuantityError(
            say(
                "{temperature} is outside {coldest_c} to {hottest_c} C: nothing is "
                "estimated there.",
                temperature=temperature,
                coldest_c=_COLDEST_C,
                hottest_c=_HOTTEST_C,
            ),
        )
    return float(celsius) + _KELVIN


def _density(gauge: Quantity, at: Quantity) -> float:
    """Density in mol/m3 at a gauge pressure."""
    if gauge.dimension != "pressure" or not 0 < gauge.base <= _HIGHEST.base:
        raise QuantityError(
            say("{gauge} is not a pressure up to {highest}.", gauge=gauge, highest=_HIGHEST)
        )
    return _density_at(float(gauge.base) + _ATMOSPHERE_PA, _kelvin(at))


def _density_at(pascal: float, kelvin: float) -> float:
    """Halve the bracket: pressure rises steadily with density above the critical temperature."""
    low, high = 0.0, _DENSEST
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if _pressure_pa(middle, kelvin) < pascal:
            low = middle
        else:
            high = middle
    return low


def _pressure_pa(density: float, kelvin: float) -> float:
    """Absolute pressure: density x R x T x (1 + density times the slope of the residual energy)."""
    tau, delta = _REDUCING_KELVIN / kelvin, density / _REDUCING_DENSITY
    slope = 0.0
    for factor, power, warmth, decay in _TERMS:
        falling = delta**decay if decay else 0.0
        term = factor * delta**power * tau**warmth * math.exp(-falling)
        slope += term * (power - decay * falling)
    return density * _GAS_CONSTANT * kelvin * (1 + slope)
