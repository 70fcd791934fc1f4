"""Quantities convert exactly, compare across units, and refuse whatever is no plain number."""

from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cylinders.rules.quantity import (
    UNITS,
    Quantity,
    QuantityError,
    Rounding,
    as_json,
    bar,
    cc,
    psi,
    read_number,
)

PINT: pint.UnitRegistry[float] = pint.UnitRegistry()
NAMES = {
    "psi": "psi",
    "bar": "bar",
    "kPa": "kPa",
    "MPa": "MPa",
    "cc": "cm**3",
    "mL": "mL",
    "L": "L",
    "in3": "inch**3",
    "mm": "mm",
    "in": "inch",
}


@pytest.mark.parametrize("unit", NAMES)
def test_every_unit_is_as_large_as_an_independent_library_says(unit: str) -> None:
    base = {"pressure": "Pa", "volume": "mL", "length": "mm"}[UNITS[unit][0]]
    theirs = PINT.Quantity(1, NAMES[unit]).to(base).magnitude
    assert float(UNITS[unit][1]) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(
    ("amount", "unit", "rounding", "shown"),
    [
        # NIST SP 811 (2008) appendix B.8: 1 psi = 6.894757 kPa.
        (psi(1), "kPa", ROUND_FLOOR, "6.894757"),
        (psi(1), "kPa", ROUND_CEILING, "6.894758"),
        (psi(3000), "bar", ROUND_FLOOR, "206.842718"),
        (bar(1), "psi", ROUND_FLOOR, "14.503773"),
        (Quantity(Decimal(1), "in3"), "cc", ROUND_FLOOR, "16.387064"),
        # 49 CFR 180.203: 350 F is given as 176 C there, 176.67 exactly.
        (Quantity(Decimal(350), "F"), "C", ROUND_FLOOR, "176.666666"),
        (Quantity(Decimal(100), "C"), "F", ROUND_FLOOR, "212.000000"),
    ],
)
def test_a_conversion_is_rounded_the_way_it_is_told(
    amount: Quantity, unit: str, rounding: str, shown: str
) -> None:
    way: Rounding = "ROUND_FLOOR" if rounding == ROUND_FLOOR else "ROUND_CEILING"
    assert str(amount.convert(unit, places=6, rounding=way).value) == shown


def test_equal_amounts_are_one_whatever_their_unit() -> None:
    assert bar(200) == Quantity(Decimal(20), "MPa")
    assert len({bar(200), Quantity(Decimal(20_000), "kPa"), cc(1)}) == 2
    assert psi(5000) < bar(345) < psi(5004)
    assert psi(1) != "1 psi"


@pytest.mark.parametrize(
    "action",
    [
        lambda: Quantity(Decimal(1), "lb"),
        lambda: Quantity(Decimal("NaN"), "psi"),
        lambda: Quantity(Decimal("Infinity"), "psi"),
        lambda: psi(1) < cc(1),
        lambda: psi(1) == cc(1),
        lambda: psi(1).convert("cc", places=0, rounding=ROUND_FLOOR),
    ],
)
def test_what_cannot_be_measured_or_compared_is_refused(action: object) -> None:
    assert callable(action)
    with pytest.raises(QuantityError):
        action()


@pytest.mark.parametrize(
    "text", ["", "1_0", "1e3", "1,5", " 1", "1.", ".5", "٣٤٥", "²", "+-1", "9" * 19]
)
def test_only_a_plain_decimal_is_a_number(text: str) -> None:
    with pytest.raises(QuantityError):
        read_number(text)


def test_a_number_is_shown_as_it_was_entered() -> None:
    assert str(Quantity(read_number("62.50"), "cc")) == "62.50 cc"
    assert as_json(Quantity(read_number("3000"), "psi")) == {"value": "3000", "unit": "psi"}
    assert as_json(None) is None


@given(st.decimals(0, 100_000, places=3), st.sampled_from(["psi", "bar", "kPa", "MPa"]))
def test_rounding_down_and_up_hold_the_exact_amount_between_them(value: Decimal, unit: str) -> None:
    exact = psi(value)
    down = exact.convert(unit, places=4, rounding=ROUND_FLOOR)
    up = exact.convert(unit, places=4, rounding=ROUND_CEILING)
    assert down <= exact <= up
