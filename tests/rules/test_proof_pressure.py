"""Pressure reached and time held: a minimum is rounded up and never met from below."""

import datetime as dt
from decimal import Decimal

import pytest

from cylinders.rules.proof_pressure import (
    hold,
    pressure_possible,
    pressure_reached,
    required_pressure,
    service_usual,
    system_check,
)
from cylinders.rules.quantity import Quantity, bar, psi
from cylinders.rules.specifications import SPECIFICATIONS
from cylinders.rules.verdict import Outcome

DAY = dt.date(2026, 11, 20)
BEFORE_THE_SECTIONS = dt.date(2002, 8, 7)


def q(value: str, unit: str) -> Quantity:
    return Quantity(Decimal(value), unit)


@pytest.mark.parametrize(
    ("code", "service", "required"),
    [
        ("3AL", psi(3000), "5000 psi"),
        ("3AA", psi(2250), "3750 psi"),
        ("3AA", psi(2015), "3359 psi"),
        ("3AL", psi(240), "480 psi"),
        ("3AL", psi(150), "450 psi"),
        ("4BA", psi(240), "480 psi"),
        ("3", None, "3000 psi"),
        ("3ALM", bar(207), "345 bar"),
        ("3ALM", bar(184), "307 bar"),
        ("3ALM", q("18400", "kPa"), "307 bar"),
        ("3ALM", q("18.4", "MPa"), "307 bar"),
        ("3AL", bar(207), "345 bar"),
        ("3AL", q("206.84", "bar"), "344.74 bar"),
        ("3AL", q("20684", "kPa"), "34474 kPa"),
        ("3AL", q("20.684", "MPa"), "34.474 MPa"),
        ("3AL", q("20682", "kPa"), "34470 kPa"),
        ("3AL", q("206.406", "bar"), "344.01 bar"),
        ("3AL", q("206.4", "bar"), "344 bar"),
        ("3", bar(124), "3000 psi"),
        ("3ALM", psi(3002), "5004 psi"),
    ],
)
def test_required_pressure(code: str, service: Quantity | None, required: str) -> None:
    assert str(required_pressure(SPECIFICATIONS[code], service)) == required


@pytest.mark.parametrize("code", ["SPECIAL_PERMIT", "39", "4L", "8"])
def test_no_pressure_follows_where_the_table_gives_none(code: str) -> None:
    assert required_pressure(SPECIFICATIONS[code], psi(1800)) is None
    assert required_pressure(SPECIFICATIONS[code], bar(124)) is None


def test_no_pressure_follows_from_an_unknown_service_pressure() -> None:
    assert required_pressure(SPECIFICATIONS["3AL"], None) is None


@pytest.mark.parametrize(
    ("reached", "outcome"),
    [
        (psi(4999), Outcome.FAIL),
        (psi(5000), Outcome.OK),
        (q("344.73", "bar"), Outcome.FAIL),
        (q("344.74", "bar"), Outcome.OK),
        (psi(5500), Outcome.OK),
        (psi(5501), Outcome.CAUTION),
        (psi(7500), Outcome.CAUTION),
        (psi(7501), Outcome.UNKNOWN),
    ],
)
def test_pressure_reached(reached: Quantity, outcome: Outcome) -> None:
    finding = pressure_reached(reached, psi(5000), on=DAY)
    assert (finding.code, finding.outcome) == ("test_pressure", outcome)


def test_an_unknown_requirement_is_unknown() -> None:
    finding = pressure_reached(psi(9999), None, on=DAY)
    assert (finding.code, finding.outcome) == ("test_pressure", Outcome.UNKNOWN)
    assert str(finding.cites) == "49 CFR 180.209(a) Table 1 (2019-10-01)"


@pytest.mark.parametrize(
    ("reached", "outcome"), [(psi(15000), Outcome.OK), (psi(15001), Outcome.FAIL)]
)
def test_a_pressure_that_would_have_burst_it_cannot_be(reached: Quantity, outcome: Outcome) -> None:
    finding = pressure_possible(reached, psi(5000), on=DAY)
    assert (finding.code, finding.outcome) == ("numbers_possible", outcome)
    assert pressure_possible(reached, None, on=DAY).outcome is Outcome.OK


@pytest.mark.parametrize(
    ("code", "service", "outcome"),
    [
        ("3AL", psi(3000), Outcome.OK),
        ("3AL", psi(150), Outcome.OK),
        ("4BA", psi(500), Outcome.OK),
        ("4BA", q("34.5", "bar"), Outcome.OK),
        ("4BA", psi(510), Outcome.UNKNOWN),
        ("3", psi(1800), Outcome.OK),
        ("3", bar(124), Outcome.OK),
        ("3", psi(2000), Outcome.UNKNOWN),
        ("3", psi(1700), Outcome.UNKNOWN),
        ("3ALM", bar(207), Outcome.OK),
        ("3ALM", q("0.00000001", "bar"), Outcome.OK),
        ("4BA", psi("502.5"), Outcome.OK),
        ("4BA", psi("502.501"), Outcome.UNKNOWN),
        ("3AL", psi("149.25"), Outcome.OK),
        ("3AL", psi("149.24"), Outcome.UNKNOWN),
    ],
)
def test_service_pressures_a_specification_has(
    code: str, service: Quantity, outcome: Outcome
) -> None:
    finding = service_usual(SPECIFICATIONS[code], service, psi(5000), on=DAY)
    assert (finding.code, finding.outcome) == ("test_pressure", outcome)


def test_a_test_pressure_no_cylinder_has_is_questioned() -> None:
    assert service_usual(None, None, psi(15000), on=DAY).outcome is Outcome.OK
    finding = service_usual(None, None, psi(15001), on=DAY)
    assert (finding.code, finding.outcome) == ("test_pressure", Outcome.UNKNOWN)


@pytest.mark.parametrize(
    ("seconds", "outcome"), [("30", Outcome.OK), ("29.999", Outcome.FAIL), ("-1", Outcome.FAIL)]
)
def test_hold(seconds: str, outcome: Outcome) -> None:
    finding = hold(Decimal(seconds), on=DAY)
    assert (finding.code, finding.outcome) == ("hold", outcome)
    assert finding.says.endswith("Test again.") == (outcome is Outcome.FAIL)


def test_a_test_of_before_the_sections_is_judged_from_memory_and_says_so() -> None:
    assert "from memory" in str(hold(Decimal(30), on=BEFORE_THE_SECTIONS).cites)


@pytest.mark.parametrize(
    ("before", "outcome"), [(psi(4500), Outcome.OK), (psi(4501), Outcome.FAIL)]
)
def test_a_system_check_takes_at_most_ninety_per_cent(before: Quantity, outcome: Outcome) -> None:
    finding = system_check(before, psi(5000), on=DAY)
    assert (finding.code, finding.outcome) == ("repeat", outcome)
