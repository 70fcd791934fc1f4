"""Can these expansions be, and are they likely: elastic expansion against thick-wall theory.

Physics forbids (code ``numbers_possible``), for a water capacity V and test pressure P:

    elastic expansion below PKV                   stiffer than a wall of any thickness
    average wall stress above any such metal's    it would have torn
      tensile strength

both with the K of the handbooks that forgives most. Anything else is only a caution (code
``plausible``): outside what the usual wall stresses of the specification give, most often a wrong
unit, a shifted decimal point or another cylinder's serial. The low end is taken at 0.85 because
heads are stiffer than the wall (0.89 to 1.00 by a finite element model).

>>> from cylinders.rules.quantity import psi
>>> case = Case("3AL", Material.ALUMINIUM, Quantity(Decimal("11.1"), "L"), psi(5000), Fraction(18))
>>> possible(case).outcome
<Outcome.FAIL: 'fail'>
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from cylinders.rules.elasticity import METALS, Metal, average_stress, expansion_at, metal_growth
from cylinders.rules.elasticity import pressure_psi as _psi
from cylinders.rules.quantity import ROUND_CEILING, ROUND_FLOOR, Quantity, round_fraction
from cylinders.rules.specifications import Material
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say

_THEORY = Citation("thick-wall theory (Lame, Hooke), closed cylinder", "", Certainty.READ)
_TYPICAL = Citation(
    "thick-wall theory with the usual wall stresses of 49 CFR part 178",
    "",
    Certainty.COMMON_PRACTICE,
)
_STIFF_HEADS = Fraction(85, 100)


@dataclass(frozen=True, slots=True)
class StressBand:
    """Average wall stress (psi) at test pressure that cylinders of a specification have."""

    specifications: tuple[str, ...]
    low: Fraction
    high: Fraction


BANDS: tuple[StressBand, ...] = (
    StressBand(("3AL",), Fraction(18_000), Fraction(35_000)),
    StressBand(("3AA", "3AAX"), Fraction(35_000), Fraction(73_000)),
    StressBand(("3A", "3AX"), Fraction(20_000), Fraction(58_000)),
    StressBand(("3T",), Fraction(40_000), Fraction(94_000)),
    StressBand(("3HT",), Fraction(50_000), Fraction(105_000)),
)


@dataclass(frozen=True, slots=True)
class Case:
    """One measurement: ``elastic`` in mL, external unless ``internal`` (direct expansion)."""

    specification: str
    material: Material
    capacity: Quantity
    pressure: Quantity
    elastic: Fraction
    internal: bool = False
    sphere: bool = False

    @property
    def external(self) -> Fraction:
        """Elastic expansion per water capacity as a water jacket would see it."""
        each = self.elastic / self.capacity.base
        return each + metal_growth(self.pressure, METALS[self.material]) if self.internal else each


def lowest(case: Case) -> Fraction:
    """Smallest external expansion (mL) that physics allows, for a wall of any thickness.

    A sphere (specifications 4D, 4DA, 4DS) has the bound that holds for any shape.
    """
    metal = METALS[case.material]
    k = metal_growth(case.pressure, metal) if case.sphere else metal.k_low * _psi(case.pressure)
    return k * case.capacity.base


def possible(case: Case) -> Finding:
    """Whether physics allows this elastic expansion (code ``numbers_possible``)."""
    metal = METALS[case.material]
    external = case.external * case.capacity.base
    if external < lowest(case):
        says = say(
            "Elastic expansion of {shown} cc cannot be: at {pressure} no wall of "
            "{material} around {capacity} is so stiff (at least {least} cc). Check "
            "units, decimal point and water capacity.",
            shown=_shown(external),
            pressure=case.pressure,
            material=case.material,
            capacity=case.capacity,
            least=_shown(lowest(case)),
        )
        return Finding("numbers_possible", Outcome.FAIL, says, _THEORY)
    if _stress(case, metal) > metal.strongest:
        says = say(
            "Elastic expansion of {shown} cc cannot be: {material} around {capacity} "
            "would have torn at {pressure}. Check units, decimal point and water "
            "capacity.",
            shown=_shown(external),
            material=case.material,
            capacity=case.capacity,
            pressure=case.pressure,
        )
        return Finding("numbers_possible", Outcome.FAIL, says, _THEORY)
    return Finding("numbers_possible", Outcome.OK, say("Physics allows these expansions."), _THEORY)


def _stress(case: Case, metal: Metal) -> Fraction:
    return average_stress(case.external, case.pressure, metal.k_high)


def _shown(volume: Fraction) -> Decimal:
    return round_fraction(volume, places=1, rounding=ROUND_FLOOR)


def band(case: Case) -> tuple[Fraction, Fraction] | None:
    """External elastic expansion (mL) of usual walls, low and high; ``None`` if not known."""
    row = next((row for row in BANDS if case.specification in row.specifications), None)
    if row is None:
        return None
    k = METALS[case.material].k
    low = expansion_at(row.low, case.pressure, k) * case.capacity.base
    high = expansion_at(row.high, case.pressure, k) * case.capacity.base
    return low, high


def plausible(case: Case) -> Finding:
    """Whether the elastic expansion is usual for this size (code ``plausible``); a caution."""
    usual = band(case)
    if usual is None:
        says = say(
            "The usual wall stress of a {specification} is not on file.",
            specification=case.specification,
        )
        return Finding("plausible", Outcome.UNKNOWN, says, _TYPICAL)
    low, high = usual[0] * _STIFF_HEADS, usual[1]
    external = case.external * case.capacity.base
    span = say(
        "{low} to {high} cc",
        low=_shown(low),
        high=round_fraction(high, places=1, rounding=ROUND_CEILING),
    )
    if low <= external <= high:
        says = say(
            "Elastic expansion is usual for {capacity} at {pressure} ({span}).",
            capacity=case.capacity,
            pressure=case.pressure,
            span=span,
        )
        return Finding("plausible", Outcome.OK, says, _TYPICAL)
    says = say(
        "Elastic expansion of {shown} cc is unusual for {capacity} at {pressure} "
        "({span}). Check units, decimal point, water capacity and serial.",
        shown=_shown(external),
        capacity=case.capacity,
        pressure=case.pressure,
        span=span,
    )
    return Finding("plausible", Outcome.CAUTION, says, _TYPICAL)
