"""Can these expansions be: refused only where physics forbids, else a caution."""

from decimal import Decimal
from fractions import Fraction

import pytest

from cylinders.rules.plausibility import Case, band, lowest, plausible, possible
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
