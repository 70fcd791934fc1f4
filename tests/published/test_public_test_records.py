"""Figures that testers and owners have published, judged as records.

A public forum record of a low-pressure steel "80" (service 2400, test 4000 psi): total 56.3,
permanent 0.3, stamped rejection elastic expansion 66.3 cc; the water capacity of 12 541 cc follows
from its rated capacity, so the agreement may be partly luck. A test house's page: about 55 cc for
an aluminium "80".
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from cylinders.rules.elasticity import STEEL, average_stress, expansion_at
from cylinders.rules.judgement import Verdict
from cylinders.rules.plausibility import Case, plausible
from cylinders.rules.quantity import Quantity, cc, psi
from cylinders.rules.specifications import Material
from cylinders.rules.verdict import Outcome
from tests.rules.judgement.records import cc as sent_cc
from tests.rules.judgement.records import check, judged, steel

COVERS = [
    "REE_external",
    "forum_test_record",
    "EE_in_band_forum_steel",
    "TE_in_band_al80_testhouse",
]
CAPACITY = cc("12540.6")


def test_the_forum_record_passes_with_a_plus_by_its_stamped_value() -> None:
    result = judged(steel({"/ree": sent_cc("66.3"), "/stamp/symbol": "+"}))
    assert result.verdict is Verdict.PASSED
    assert str(result.elastic_expansion) == "56.0 cc"
    assert str(result.percent_permanent) == "0.6"
    assert check(result, "plus").outcome is Outcome.OK


def test_theory_gives_the_stamped_value_back() -> None:
    """Used for plausibility only: a rejection value is never computed for a cylinder."""
    each = expansion_at(Fraction(67_000), psi(4000), STEEL.k)
    assert float(each * CAPACITY.base) == pytest.approx(66.3, abs=0.1)


def test_the_measured_stress_is_well_below_the_limit() -> None:
    each = Fraction(56) / CAPACITY.base
    assert float(average_stress(each, psi(4000), STEEL.k)) == pytest.approx(56_334, abs=5)


def test_the_forum_record_is_usual_for_its_size() -> None:
    case = Case("3AA", Material.STEEL, cc(12_541), psi(4000), Fraction(56))
    assert plausible(case).outcome is Outcome.OK


def test_the_test_houses_figure_is_usual_for_an_aluminium_80() -> None:
    litres = Quantity(Decimal("11.1"), "L")
    case = Case("3AL", Material.ALUMINIUM, litres, psi(5000), Fraction(55))
    assert plausible(case).outcome is Outcome.OK
