"""Thick-wall theory: the identities that tie the formulas together hold exactly."""

from fractions import Fraction

import pytest

from cylinders.rules.elasticity import (
    ALUMINIUM,
    STEEL,
    Metal,
    average_stress,
    expansion_at,
    external,
    internal,
    metal_growth,
    pressure_psi,
    wall_stress,
)
from cylinders.rules.quantity import Quantity, bar, psi

D, BORE = Fraction("7.25"), Fraction("6.15")


@pytest.mark.parametrize("metal", [STEEL, ALUMINIUM])
@pytest.mark.parametrize("pressure", [psi(3359), psi(5000), bar(345)])
def test_what_the_two_methods_see_differs_by_the_growth_of_the_metal(
    metal: Metal, pressure: Quantity
) -> None:
    outer, inner = external(pressure, metal, D, BORE), internal(pressure, metal, D, BORE)
    assert outer - inner == metal_growth(pressure, metal)


def test_stress_from_expansion_is_the_stress_of_the_wall() -> None:
    """49 CFR 178.37(f)(3) and 173.302a(b) are one formula."""
    expansion = external(psi(5000), STEEL, D, BORE)
    assert average_stress(expansion, psi(5000), STEEL.k) == wall_stress(psi(5000), D, BORE)


def test_expansion_and_stress_are_inverse() -> None:
    each = expansion_at(Fraction(67_000), psi(4000), STEEL.k)
    assert average_stress(each, psi(4000), STEEL.k) == 67_000


@pytest.mark.parametrize("metal", [STEEL, ALUMINIUM])
def test_the_spread_of_k_holds_its_own_value(metal: Metal) -> None:
    assert metal.k_low < metal.k < metal.k_high


def test_pressure_in_psi_is_exact() -> None:
    assert pressure_psi(psi("1234.5")) == Fraction("1234.5")
