"""Can these expansions be: refused only where physics forbids, else a caution."""

from decimal import Decimal
from fractions import Fraction

import pytest

from cylinders.rules.elasticity import METALS, expansion_at
from cylinders.rules.plausibility import BANDS, Case, band, lowest, plausible, possible
from cylinders.rules.quantity import Quantity, psi
from cylinders.rules.specifications import Material
from cylinders.rules.verdict import Outcome


def aluminium(elastic: str, *, internal: bool = False) -> Case:
    litres = Quantity(Decimal("11.1"), "L")
    return Case("3AL", Material.ALUMINIUM, litres, psi(5000), Fraction(elastic), internal)


def steel(elastic: str, code: str = "3AA", *, sphere: bool = False) -> Case:
    litres = Quantity(Decimal("11.963"), "L")
    return Case(code, Material.STEEL, litres, psi(3750), Fraction(elastic), sphere=sphere)


@pytest.mark.parametrize(
    ("case", "can", "likely"),
    [
        (aluminium("69.5"), Outcome.OK, Outcome.OK),
        (aluminium("55"), Outcome.OK, Outcome.OK),
        (aluminium("35"), Outcome.OK, Outcome.CAUTION),
        (aluminium("120"), Outcome.OK, Outcome.CAUTION),
        (aluminium("695"), Outcome.FAIL, Outcome.CAUTION),
        (aluminium("6.95"), Outcome.FAIL, Outcome.CAUTION),
        (aluminium("4.24"), Outcome.FAIL, Outcome.CAUTION),
        (steel("56.1"), Outcome.OK, Outcome.OK),
        (steel("5.61"), Outcome.FAIL, Outcome.CAUTION),
        (steel("561"), Outcome.FAIL, Outcome.CAUTION),
        (steel("20"), Outcome.OK, Outcome.CAUTION),
        (steel("56", "4BA"), Outcome.OK, Outcome.UNKNOWN),
    ],
)
def test_units_decimal_points_and_sizes(case: Case, can: Outcome, likely: Outcome) -> None:
    assert (possible(case).code, possible(case).outcome) == ("numbers_possible", can)
    assert (plausible(case).code, plausible(case).outcome) == ("plausible", likely)


def test_direct_expansion_is_compared_after_the_growth_of_the_metal() -> None:
    seen = aluminium("67.17", internal=True)
    assert seen.external * seen.capacity.base - Fraction("67.17") == Fraction("5.661")
    assert possible(aluminium("16", internal=True)).outcome is Outcome.OK
    assert possible(aluminium("16")).outcome is Outcome.FAIL


def test_a_sphere_has_only_the_bound_for_any_shape() -> None:
    assert possible(steel("3.0", "4D", sphere=True)).outcome is Outcome.OK
    assert possible(steel("3.0")).outcome is Outcome.FAIL
    assert lowest(steel("3.0", sphere=True)) < lowest(steel("3.0"))


def test_no_usual_band_is_made_up() -> None:
    assert band(steel("56", "4BA")) is None


def test_the_words_name_the_figures() -> None:
    assert possible(aluminium("18")).says.startswith(
        "Elastic expansion of 18.0 cc cannot be: at 5000 psi no wall of aluminium around 11.1 L"
    )
    assert "(40.8 to 89.0 cc)" in plausible(aluminium("35")).says


@pytest.mark.parametrize(
    ("code", "low", "high"),
    [
        ("3AL", 18_000, 35_000),
        ("3AA", 35_000, 73_000),
        ("3AAX", 35_000, 73_000),
        ("3A", 20_000, 58_000),
        ("3AX", 20_000, 58_000),
        ("3T", 40_000, 94_000),
        ("3HT", 50_000, 105_000),
    ],
)
def test_the_usual_wall_stresses_of_a_specification(code: str, low: int, high: int) -> None:
    (row,) = [row for row in BANDS if code in row.specifications]
    assert [row.low, row.high] == [low, high]


def test_the_ends_of_the_band_are_usual_and_the_bounds_possible() -> None:
    usual = band(aluminium("50"))
    assert usual is not None
    for end, outcome in (
        (usual[0] * Fraction(85, 100), Outcome.OK),
        (usual[1], Outcome.OK),
        (usual[1] + 1, Outcome.CAUTION),
        (usual[0] * Fraction(85, 100) - 1, Outcome.CAUTION),
    ):
        assert plausible(aluminium(str(end))).outcome is outcome
    lowest_possible = lowest(aluminium("50"))
    assert possible(aluminium(str(lowest_possible))).outcome is Outcome.OK
    metal, case = METALS[Material.ALUMINIUM], aluminium("50")
    strongest = expansion_at(metal.strongest, case.pressure, metal.k_high) * case.capacity.base
    assert possible(aluminium(str(strongest))).outcome is Outcome.OK
    assert possible(aluminium(str(strongest + 1))).outcome is Outcome.FAIL
