"""49 CFR 173.302a(b): wall stress limits for a plus, and the formula of the average stress.

The table as an inter-service manual on air shipment prints it (fig. A3.2, second-hand); the formula
S = 1.7 EE/(KV) - 0.4P from memory, proven to be the wall stress of part 178.
"""

from fractions import Fraction

import pytest

from cylinders.rules.elasticity import average_stress
from cylinders.rules.quantity import psi
from cylinders.rules.wall_stress import PLUS_LIMITS

COVERS = [
    "plus_limit_plain carbon >0.35 C / medium Mn",
    "plus_limit_3AA steels",
    "plus_limit_plain carbon <0.35 C before 1920",
]


@pytest.mark.parametrize(
    ("row", "specifications", "average", "maximum"),
    [
        (0, ("3A", "3AX"), 53_000, 58_000),
        (1, ("3AA", "3AAX"), 67_000, 73_000),
        (2, ("3T",), 87_000, 94_000),
        (3, ("3A", "3AX"), 45_000, 48_000),
    ],
)
def test_the_limits(row: int, specifications: tuple[str, ...], average: int, maximum: int) -> None:
    found = PLUS_LIMITS[row]
    assert found.specifications == specifications
    assert [found.average, found.maximum] == [average, maximum]


def test_an_average_worked_by_hand() -> None:
    """EE 60 cc, K 1.25e-7, V 12 000 cc, P 3750 psi: 66 500 psi; at the limit 60.44 cc."""
    k = Fraction("1.25") / 10**7
    assert average_stress(Fraction(60, 12_000), psi(3750), k) == 66_500
    at_limit = (67_000 + Fraction(4, 10) * 3750) * k * 12_000 / Fraction(17, 10)
    assert float(at_limit) == pytest.approx(60.44, abs=0.01)
