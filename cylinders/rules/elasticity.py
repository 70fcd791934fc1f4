"""How much a closed cylinder grows under pressure: thick-wall theory, exactly.

Lame's stresses with Hooke's law for a closed cylinder of outside diameter D and bore d, in terms of
its water capacity V, pressure P, modulus E and Poisson's ratio v of the metal:

    external (seen by a water jacket)   PV(5-4v)D2 / E(D2-d2) = PKV D2/(D2-d2),  K = (5-4v)/E
    internal (seen by direct expansion) PV[2(1+v)D2 + 3(1-2v)d2] / E(D2-d2)
    external less internal              3(1-2v)PV/E, for any shape: the metal itself grows

The wall stress of 49 CFR part 178, S = P(1.3D2+0.4d2)/(D2-d2), is the largest-strain stress at the
bore for v = 0.3; with the first line it becomes S = 1.7 EE/(KV) - 0.4P. Stresses are in psi,
volumes in one unit, everything rational: nothing here rounds.

>>> from cylinders.rules.quantity import psi
>>> round(float(external(psi(5000), STEEL, Fraction(7), Fraction("6.53")) * 11963), 2)
60.39
"""

from dataclasses import dataclass
from fractions import Fraction

from cylinders.rules.quantity import UNITS, Quantity
from cylinders.rules.specifications import Material

_PSI = UNITS["psi"][1]


@dataclass(frozen=True, slots=True)
class Metal:
    """Modulus (psi), Poisson's ratio and the spread of K (1/psi) over handbook values.

    ``strongest`` (psi) is above the tensile strength of any cylinder made of the metal.
    """

    modulus: Fraction
    poisson: Fraction
    k_low: Fraction
    k_high: Fraction
    strongest: Fraction

    @property
    def k(self) -> Fraction:
        """Expansion of an infinitely thick cylinder per volume and psi: (5-4v)/E."""
        return (5 - 4 * self.poisson) / self.modulus


def _k(tenths_of_millionths: str) -> Fraction:
    return Fraction(tenths_of_millionths) / 10**7


#: Handbook values: E 29e6 to 30e6 psi, v 0.30 for steel; 9.9e6 to 10.4e6, 0.33 to 0.35 for
#: aluminium 6061 and 6351. ``strongest`` is wide: 3HT steel reaches 165 000, 6061-T6 45 000 psi.
STEEL = Metal(Fraction(29_000_000), Fraction("0.30"), _k("1.26"), _k("1.32"), Fraction(200_000))
ALUMINIUM = Metal(Fraction(10_000_000), Fraction("0.33"), _k("3.46"), _k("3.72"), Fraction(70_000))
METALS: dict[Material, Metal] = {Material.STEEL: STEEL, Material.ALUMINIUM: ALUMINIUM}


def pressure_psi(pressure: Quantity) -> Fraction:
    """A pressure in psi, exactly."""
    return pressure.base / _PSI


def external(pressure: Quantity, metal: Metal, outside: Fraction, bore: Fraction) -> Fraction:
    """External expansion per water capacity; ``outside`` and ``bore`` in one unit."""
    return pressure_psi(pressure) * metal.k * outside**2 / (outside**2 - bore**2)


def internal(pressure: Quantity, metal: Metal, outside: Fraction, bore: Fraction) -> Fraction:
    """Internal expansion per water capacity; ``outside`` and ``bore`` in one unit."""
    shape = 2 * (1 + metal.poisson) * outside**2 + 3 * (1 - 2 * metal.poisson) * bore**2
    return pressure_psi(pressure) * shape / (metal.modulus * (outside**2 - bore**2))


def metal_growth(pressure: Quantity, metal: Metal) -> Fraction:
    """External less internal expansion per water capacity, for any shape: 3(1-2v)P/E."""
    return 3 * (1 - 2 * metal.poisson) * pressure_psi(pressure) / metal.modulus


def expansion_at(stress: Fraction, pressure: Quantity, k: Fraction) -> Fraction:
    """External elastic expansion per water capacity at an average wall stress (psi)."""
    return (stress + Fraction(2, 5) * pressure_psi(pressure)) * k * 10 / 17


def average_stress(per_volume: Fraction, pressure: Quantity, k: Fraction) -> Fraction:
    """Average wall stress (psi) from external elastic expansion per water capacity."""
    return Fraction(17, 10) * per_volume / k - Fraction(2, 5) * pressure_psi(pressure)


def wall_stress(pressure: Quantity, outside: Fraction, bore: Fraction) -> Fraction:
    """Wall stress (psi) of 49 CFR 178.37(f)(3) and 178.46(d); diameters in one unit."""
    shape = (Fraction(13, 10) * outside**2 + Fraction(4, 10) * bore**2) / (outside**2 - bore**2)
    return pressure_psi(pressure) * shape
