"""49 CFR 178.37(f)(3) and 178.46(d): wall stress S = P(1.3D2 + 0.4d2) / (D2 - d2), psi and inches.

Edition 2019-10-01; the numbers were worked out from the formula.
"""

from fractions import Fraction

import pytest

from cylinders.rules.elasticity import STEEL, average_stress, external, wall_stress
from cylinders.rules.quantity import psi

COVERS = [
    "wall_stress_3750_6.80_6.47",
    "wall_stress_4000_7.25_6.81",
    "wall_stress_identity",
]


@pytest.mark.parametrize(
    ("pressure", "outside", "bore", "stress"),
    [
        (3750, "6.80", "6.47", 65_815.2),
        (4000, "7.25", "6.81", 56_175.9),
        (5000, "7.25", "6.15", 28_310.8),
        (5000, "7.25", "6.25", 31_094.9),
        (3750, "6.9", "6.51", 56_534),
        (5250, "7.25", "6.82", 75_439),
    ],
)
def test_the_stress_of_a_wall(pressure: int, outside: str, bore: str, stress: float) -> None:
    found = wall_stress(psi(pressure), Fraction(outside), Fraction(bore))
    assert float(found) == pytest.approx(stress, abs=0.5)


def test_it_is_the_average_stress_of_the_plus_rule_for_the_same_wall() -> None:
    """1.3D2 + 0.4d2 is 1.7D2 - 0.4(D2 - d2): one formula written in two ways."""
    outside, bore = Fraction("7.25"), Fraction("6.15")
    stress = wall_stress(psi(5000), outside, bore)
    assert float(stress) == pytest.approx(28_310.804, abs=0.001)
    each = external(psi(5000), STEEL, outside, bore)
    assert average_stress(each, psi(5000), STEEL.k) == stress
