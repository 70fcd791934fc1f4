"""A repeat: only after a fault of the equipment, at a raised pressure."""

import datetime as dt
from decimal import Decimal

import pytest

from cylinders.rules.quantity import Quantity, psi
from cylinders.rules.repeat import Earlier, judge, raised
from cylinders.rules.verdict import Outcome

DAY = dt.date(2026, 11, 20)
GOOD = Earlier("NG-1", psi(4000), condemns=False)


@pytest.mark.parametrize(
    ("pressure", "expected"),
    [
        (psi(5000), "5100 psi"),
        (psi(1000), "1100 psi"),
        (psi(999), "1099 psi"),
        (psi(480), "528 psi"),
        (Quantity(Decimal(345), "bar"), "351.90 bar"),
        (Quantity(Decimal(30), "bar"), "33.00 bar"),
    ],
)
def test_ten_per_cent_or_a_hundred_psi_whichever_is_less(pressure: Quantity, expected: str) -> None:
    assert str(raised(pressure, on=DAY)) == expected


@pytest.mark.parametrize(
    ("earlier", "reached", "required", "reason", "outcome"),
    [
        (GOOD, psi(5100), psi(5000), "pump failed", Outcome.OK),
        (GOOD, psi(5099), psi(5000), "pump failed", Outcome.FAIL),
        (GOOD, psi(5100), psi(5000), " ", Outcome.UNKNOWN),
        (GOOD, psi(5100), None, "pump failed", Outcome.UNKNOWN),
        (None, psi(5100), psi(5000), "pump failed", Outcome.CAUTION),
        (None, psi(5099), psi(5000), "pump failed", Outcome.FAIL),
        (Earlier("NG-1", psi(5050), condemns=False), psi(5100), psi(5000), "x", Outcome.FAIL),
        (Earlier("NG-1", psi(5050), condemns=False), psi(5150), psi(5000), "x", Outcome.OK),
        (Earlier("NG-1", psi(5000), condemns=True), psi(5100), psi(5000), "x", Outcome.UNKNOWN),
    ],
)
def test_does_this_repeat_count(
    earlier: Earlier | None,
    reached: Quantity,
    required: Quantity | None,
    reason: str,
    outcome: Outcome,
) -> None:
    finding = judge(earlier, reached=reached, required=required, reason=reason, on=DAY)
    assert (finding.code, finding.outcome) == ("repeat", outcome)


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [("34500", "kPa", "35190 kPa"), ("34.5", "MPa", "35.190 MPa"), ("345.01", "bar", "351.91 bar")],
)
def test_a_metric_repeat_is_rounded_up_to_a_hundredth_of_a_bar(
    value: str, unit: str, expected: str
) -> None:
    assert str(raised(Quantity(Decimal(value), unit), on=DAY)) == expected
