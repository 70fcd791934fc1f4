"""The gauge: accuracy, lowest pressure, range and reading."""

import datetime as dt
from decimal import Decimal

import pytest

from cylinders.rules.gauge import (
    Gauge,
    expansion_readable,
    judge,
    lowest_usable,
    widest_increment,
)
from cylinders.rules.quantity import Quantity, bar, cc, psi
from cylinders.rules.verdict import Outcome

DAY = dt.date(2026, 11, 20)


def dial(full_scale: Quantity, accuracy: str, division: Quantity | None = None) -> Gauge:
    return Gauge(full_scale, Decimal(accuracy), division, analogue=True)


def outcome(gauge: Gauge | None, test_pressure: Quantity) -> Outcome:
    finding = judge(gauge, test_pressure=test_pressure, on=DAY)
    assert finding.code == "gauge"
    return finding.outcome


def test_a_gauge_not_described_is_unknown() -> None:
    assert outcome(None, psi(5000)) is Outcome.UNKNOWN


@pytest.mark.parametrize(
    ("gauge", "test_pressure", "expected"),
    [
        (dial(psi(10000), "0.5"), psi(5000), Outcome.OK),
        (dial(psi(10000), "0.5"), psi(4999), Outcome.FAIL),
        (dial(psi(10000), "0.6"), psi(9000), Outcome.FAIL),
        (dial(psi(6000), "0.25"), psi(1500), Outcome.OK),
        (dial(psi(6000), "0.25"), psi(1499), Outcome.FAIL),
        (dial(psi(5500), "0.5"), psi(5000), Outcome.OK),
        (dial(psi(5499), "0.5"), psi(5000), Outcome.FAIL),
        (dial(bar(600), "0.5"), psi(5000), Outcome.OK),
        (dial(psi(10000), "0.5", psi(100)), psi(5000), Outcome.OK),
        (dial(psi(6000), "0.5", psi(100)), psi(3750), Outcome.FAIL),
    ],
)
def test_may_this_gauge_be_used(gauge: Gauge, test_pressure: Quantity, expected: Outcome) -> None:
    assert outcome(gauge, test_pressure) is expected


def test_only_a_dial_is_read_to_half_a_division() -> None:
    digital = Gauge(psi(10000), Decimal("0.5"), psi(100))
    assert outcome(digital, psi(5000)) is Outcome.FAIL


def test_the_lowest_usable_pressure_is_rounded_up() -> None:
    assert str(lowest_usable(dial(psi(1101), "0.5"), on=DAY)) == "551 psi"


@pytest.mark.parametrize(
    ("increment", "total", "expected"),
    [
        (cc("0.563"), cc("56.3"), Outcome.OK),
        (cc("0.564"), cc("56.3"), Outcome.FAIL),
        (cc("0.1"), cc("5.0"), Outcome.OK),
        (cc("0.11"), cc("5.0"), Outcome.FAIL),
        (Quantity(Decimal("0.0001"), "L"), cc("5.0"), Outcome.OK),
    ],
)
def test_the_expansion_device_reads_to_one_per_cent_or_a_tenth(
    increment: Quantity, total: Quantity, expected: Outcome
) -> None:
    finding = expansion_readable(increment, total, on=DAY)
    assert (finding.code, finding.outcome) == ("gauge", expected)


def test_the_widest_increment_is_told_without_trailing_zeros() -> None:
    assert widest_increment(cc("150"), on=DAY) == cc("1.5")
    assert "at most 1.5 cc" in expansion_readable(cc(2), cc(150), on=DAY).says
    assert "to 2 cc is asked for" in expansion_readable(cc(2), cc(200), on=DAY).says


def test_each_fault_names_the_letter_that_settled_it() -> None:
    def clause(gauge: Gauge | None) -> str:
        return str(judge(gauge, test_pressure=psi(5000), on=DAY).cites)

    ranged = "49 CFR 180.205(g)(3)(i); PHMSA letter 13-0131 (2019-10-01)"
    assert clause(None) == ranged
    assert clause(dial(psi(11000), "0.5")) == ranged
    assert clause(dial(psi(6000), "0.6")) == (
        "49 CFR 180.205(g)(3)(i); PHMSA letter 15-0055 (2019-10-01)"
    )


def test_a_step_is_told_to_a_thousandth_and_rounded_down() -> None:
    finding = expansion_readable(cc(1), cc("56.38"), on=DAY)
    assert finding.says.endswith("at most 0.563 cc.")
    assert expansion_readable(cc(1), cc("56.1"), on=DAY).says.endswith("at most 0.561 cc.")
    assert widest_increment(cc("56.38"), on=DAY) == cc("0.5638")
