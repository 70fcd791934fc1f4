"""Conversion factors of NIST SP 811 (2008), appendix B: inch, pound and standard gravity are exact.

The decimals were worked out from 0.0254 m, 0.45359237 kg and 9.80665 m/s2.
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from cylinders.rules.quantity import ROUND_CEILING, ROUND_FLOOR, Quantity, bar, psi

COVERS = [
    "psi_to_kPa",
    "MPa_to_psi",
    "atm_to_psi",
    "psi_to_bar_1800",
    "psi_to_bar_2015",
    "psi_to_bar_2250",
    "psi_to_bar_2400",
    "psi_to_bar_2475",
    "psi_to_bar_2640",
    "psi_to_bar_3000",
    "psi_to_bar_3300",
    "psi_to_bar_3500",
    "psi_to_bar_4000",
    "psi_to_bar_4350",
    "psi_to_bar_5000",
    "bar_to_psi_207",
    "bar_to_psi_232",
    "bar_to_psi_300",
    "bar_to_psi_345",
    "bar_to_psi_348",
    "F_to_C_350",
    "F_to_C_265",
    "F_to_C_160",
    "F_to_C_650",
]


def near(found: Quantity, expected: str, tolerance: str) -> bool:
    return abs(found.value - Decimal(expected)) <= Decimal(tolerance)


def test_one_psi_in_kilopascals() -> None:
    exact = psi(1).base / 1000
    assert abs(exact - Fraction("6.894757293168361")) < Fraction("1e-12")


def test_one_megapascal_and_one_atmosphere_in_psi() -> None:
    one = Quantity(Decimal(1), "MPa").convert("psi", places=12, rounding=ROUND_FLOOR)
    assert near(one, "145.03773773020924", "1e-11")
    atmosphere = Quantity(Decimal("1.01325"), "bar").convert("psi", places=12, rounding=ROUND_FLOOR)
    assert near(atmosphere, "14.695948775513", "1e-9")


@pytest.mark.parametrize(
    ("stamped", "expected"),
    [
        (1800, "124.105631"),
        (2015, "138.929359"),
        (2250, "155.132039"),
        (2400, "165.474175"),
        (2475, "170.645243"),
        (2640, "182.021593"),
        (3000, "206.842719"),
        (3300, "227.526991"),
        (3442, "237.317546"),
        (3500, "241.316505"),
        (4000, "275.790292"),
        (4350, "299.921942"),
        (5000, "344.737865"),
    ],
)
def test_stamped_psi_in_bar(stamped: int, expected: str) -> None:
    assert near(psi(stamped).convert("bar", places=9, rounding=ROUND_FLOOR), expected, "5e-7")


@pytest.mark.parametrize(
    ("stamped", "expected"),
    [
        (200, "2900.7548"),
        (207, "3002.2812"),
        (232, "3364.8755"),
        (300, "4351.1321"),
        (345, "5003.8020"),
        (348, "5047.3133"),
    ],
)
def test_stamped_bar_in_psi(stamped: int, expected: str) -> None:
    assert near(bar(stamped).convert("psi", places=9, rounding=ROUND_CEILING), expected, "5e-5")


def test_a_pressure_is_not_passed_through_a_rounded_unit() -> None:
    """3000 psi, shown as 207 bar, read back would be 3002 psi."""
    rounded = psi(3000).convert("bar", places=0, rounding=ROUND_CEILING)
    assert str(rounded) == "207 bar"
    assert rounded > psi(3002)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [("350", "176.6667"), ("265", "129.4444"), ("160", "71.1111"), ("650", "343.3333")],
)
def test_degrees(fahrenheit: str, celsius: str) -> None:
    found = Quantity(Decimal(fahrenheit), "F").convert("C", places=6, rounding=ROUND_FLOOR)
    assert near(found, celsius, "1e-4")
