"""What the service knows beside a record: the lab, the cylinder, earlier tests, owner's permits."""

import datetime as dt
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from cylinders.rules.extra_rows import ExtraRows, PermitRow
from cylinders.rules.judgement import (
    KnownCylinder,
    LabStanding,
    PreviousTest,
    Verdict,
    symbol_of,
)
from cylinders.rules.judgement.case import permit_number
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity, bar
from cylinders.rules.quantity import cc as volume
from cylinders.rules.quantity import psi as pressure
from cylinders.rules.verdict import Citation, Outcome
from tests.rules.judgement.records import (
    TESTED,
    cc,
    celsius,
    check,
    judged,
    outcome,
    permit,
    psi,
    read,
    record,
    steel,
    verdict,
)

LATER, EARLIER = TESTED + dt.timedelta(days=1), TESTED - dt.timedelta(days=1)


@pytest.mark.parametrize(
    ("lab", "expected"),
    [
        (None, (Verdict.PASSED, Outcome.UNKNOWN)),
        (LabStanding("Z999", TESTED), (Verdict.PASSED, Outcome.CAUTION)),
        (LabStanding("Z999", LATER, TESTED), (Verdict.PASSED, Outcome.CAUTION)),
        (LabStanding("Z999", EARLIER), (Verdict.INVALID, Outcome.FAIL)),
        (LabStanding("Z999", LATER, LATER), (Verdict.INVALID, Outcome.FAIL)),
        (LabStanding("Z998", LATER), (Verdict.HELD, Outcome.FAIL)),
        (LabStanding("Z999", None), (Verdict.HELD, Outcome.UNKNOWN)),
    ],
)
def test_the_labs_number_on_the_day_of_the_test(
    lab: LabStanding | None, expected: tuple[Verdict, Outcome]
) -> None:
    assert outcome(record(), "rin", lab=lab) == expected


def test_the_words_say_from_when_or_until_when() -> None:
    late = check(judged(record(), lab=LabStanding("Z999", EARLIER)), "rin").says
    assert "only until 2026-11-19" in late
    soon = check(judged(record(), lab=LabStanding("Z999", LATER, LATER)), "rin").says
    assert "only from 2026-11-21" in soon


# The cylinder as known here

SAME = KnownCylinder(
    serial="qx104417",
    specifications=("3ALM", "3AL"),
    service_pressures=(bar(207), pressure(3000)),
    manufacturer_mark="M9999",
    alloy="6061-T6",
    first_test=Month(2008, 6),
)


def test_the_same_cylinder_fits() -> None:
    assert outcome(record(), "cylinder", known_cylinder=SAME) == (Verdict.PASSED, Outcome.OK)
    nothing = KnownCylinder()
    assert outcome(record(), "cylinder", known_cylinder=nothing)[1] is Outcome.OK


def test_a_metric_mark_fits_its_twin_and_its_pressure_in_psi() -> None:
    metric = KnownCylinder(specifications=("3ALM",), service_pressures=(bar(207),))
    assert outcome(record(), "cylinder", known_cylinder=metric)[1] is Outcome.OK


@pytest.mark.parametrize(
    ("known", "word"),
    [
        (KnownCylinder(serial="QX104418"), "serial"),
        (KnownCylinder(specifications=("3AA",)), "specification"),
        (KnownCylinder(service_pressures=(pressure(3300),)), "service pressure"),
        (KnownCylinder(service_pressures=(bar(230),)), "service pressure"),
        (KnownCylinder(service_pressures=(pressure(2999),)), "service pressure"),
        (KnownCylinder(manufacturer_mark="M1001"), "maker's mark"),
        (KnownCylinder(alloy="6351-T6"), "alloy"),
        (KnownCylinder(first_test=Month(2009, 6)), "first test"),
        (KnownCylinder(condemned=True), "condemned"),
    ],
)
def test_a_record_of_another_cylinder_is_held(known: KnownCylinder, word: str) -> None:
    result = judged(record(), known_cylinder=known)
    assert result.verdict is Verdict.HELD
    assert word in check(result, "cylinder").says


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        (2, (Verdict.HELD, Outcome.FAIL)),
        (1, (Verdict.PASSED, Outcome.OK)),  # the lab's day may be behind the shop's
        (0, (Verdict.PASSED, Outcome.OK)),
    ],
)
def test_a_test_before_the_cylinder_was_dropped_off_is_held(
    days: int, expected: tuple[Verdict, Outcome]
) -> None:
    came = KnownCylinder(came_on=TESTED + dt.timedelta(days=days))
    assert outcome(record(), "cylinder", known_cylinder=came) == expected


def test_a_test_that_condemns_counts_though_it_is_dated_before_the_cylinder_came() -> None:
    came = KnownCylinder(came_on=TESTED + dt.timedelta(days=9))
    over = {"/permanent_expansion": cc("9.0"), "/elastic_expansion": None}
    body = record(over | {"/disposition": "condemned", "/stamp": None, "/reason": "over"})
    assert verdict(body, known_cylinder=came) is Verdict.CONDEMNED


def test_a_record_that_leaves_things_out_contradicts_nothing() -> None:
    body = record({"/cylinder/alloy": None, "/cylinder/first_test": None})
    assert outcome(body, "cylinder", known_cylinder=SAME) == (Verdict.PASSED, Outcome.OK)
    silent = steel({"/cylinder/service_pressure": None})
    assert outcome(silent, "cylinder", known_cylinder=KnownCylinder(service_pressures=(bar(165),)))


def test_the_alloy_known_here_asks_for_the_examination() -> None:
    body = record({"/cylinder/alloy": None})
    suspect = KnownCylinder(alloy="6351-T6")
    assert outcome(body, "eddy_current", known_cylinder=suspect) == (
        Verdict.HELD,
        Outcome.UNKNOWN,
    )


# Earlier tests


def before(**changes: Any) -> PreviousTest:
    values: dict[str, Any] = {
        "lab_reference": "NG-2021-0007",
        "date": dt.date(2021, 11, 3),
        "method": "water_jacket",
        "test_pressure": pressure(5000),
        "verdict": Verdict.PASSED,
        "total": volume("70.0"),
        "permanent": volume("1.0"),
    }
    return PreviousTest(**(values | changes))


@pytest.mark.parametrize(
    ("previous", "expected"),
    [
        (before(), Outcome.OK),
        (before(total=volume("72.3")), Outcome.OK),
        (before(total=volume("72.4")), Outcome.CAUTION),
        (before(total=volume("68.2")), Outcome.OK),
        (before(total=volume("68.1")), Outcome.CAUTION),
        (before(total=volume("90"), test_pressure=pressure(4000)), Outcome.OK),
        (before(total=volume("90"), method="direct_expansion"), Outcome.OK),
        (before(total=volume("90"), date=TESTED), Outcome.OK),
        (before(total=None), Outcome.OK),
        (before(permanent=None), Outcome.OK),
        (before(total=volume("1.0")), Outcome.OK),
    ],
)
def test_elastic_expansion_agrees_with_the_test_before(
    previous: PreviousTest, expected: Outcome
) -> None:
    assert outcome(record(), "plausible", previous=(previous,)) == (Verdict.PASSED, expected)


def test_the_latest_earlier_test_is_compared_and_the_direction_told() -> None:
    fell, rose = before(total=volume("75.0")), before(total=volume("60.0"))
    later = before(total=volume("70.0"), date=dt.date(2024, 11, 3))
    assert "fell" in check(judged(record(), previous=(fell,)), "plausible").says
    assert "rose" in check(judged(record(), previous=(rose,)), "plausible").says
    assert outcome(record(), "plausible", previous=(later, fell))[1] is Outcome.OK


REPEAT = {
    "/repeat_of": "NG-2021-0007",
    "/reason": "pump failed",
    "/test_pressure": psi("5100"),
}


@pytest.mark.parametrize(
    ("previous", "expected"),
    [
        ((), (Verdict.PASSED, Outcome.CAUTION)),
        ((before(lab_reference="NG-1"),), (Verdict.PASSED, Outcome.CAUTION)),
        ((before(),), (Verdict.PASSED, Outcome.OK)),
        ((before(over_limit=True),), (Verdict.HELD, Outcome.UNKNOWN)),
        ((before(verdict=Verdict.CONDEMNED),), (Verdict.HELD, Outcome.UNKNOWN)),
        ((before(test_pressure=pressure(5050)),), (Verdict.INVALID, Outcome.FAIL)),
    ],
)
def test_a_repeat_does_not_save_a_cylinder(
    previous: tuple[PreviousTest, ...], expected: tuple[Verdict, Outcome]
) -> None:
    assert outcome(record(REPEAT), "repeat", previous=previous) == expected


def test_a_repeat_without_its_reason_or_requirement_is_held() -> None:
    assert outcome(record(REPEAT | {"/reason": ""}), "repeat") == (Verdict.HELD, Outcome.UNKNOWN)
    unknown = record(REPEAT | {"/cylinder/specification": "5Q"})
    assert outcome(unknown, "repeat") == (Verdict.HELD, Outcome.UNKNOWN)


def test_a_system_check_within_ninety_per_cent_is_told() -> None:
    body = record({"/system_check_pressure": psi("4500")})
    assert outcome(body, "repeat") == (Verdict.PASSED, Outcome.OK)
    codes = {
        finding.code
        for finding in judged(
            record({"/system_check_pressure": psi("4500"), "/cylinder/specification": "5Q"})
        ).checks
    }
    assert "repeat" not in codes


# Permits an owner has entered


def entered(**changes: Any) -> ExtraRows:
    values: dict[str, Any] = {
        "permit": "99999",
        "cites": Citation("DOT-SP 99999, para 7"),
        "interval_months": 60,
        "test_pressure": pressure(5250),
        "limit_percent": Decimal(5),
    }
    return ExtraRows(permits=(PermitRow(**(values | changes)),))


SILENT = {"/limit_percent": None, "/required_test_pressure": None}


def test_an_entered_permit_sets_limit_pressure_and_period() -> None:
    result = judged(permit(SILENT), extra=entered())
    assert result.verdict is Verdict.PASSED
    assert str(result.next_due) == "2031-11"
    assert check(result, "permanent_expansion").cites.source == "DOT-SP 99999, para 7"
    high = SILENT | {"/permanent_expansion": cc("2.9"), "/elastic_expansion": None}
    assert verdict(permit(high), extra=entered()) is Verdict.CONDEMNED


@pytest.mark.parametrize(
    ("service", "factor", "required"),
    [
        (psi("3442"), Fraction(3, 2), "5163 psi"),
        (psi("3442"), Fraction(5, 3), "5737 psi"),
        ({"value": "232", "unit": "bar"}, Fraction(3, 2), "348.00 bar"),
    ],
)
def test_a_permits_factor_is_rounded_up(
    service: dict[str, str], factor: Fraction, required: str
) -> None:
    rows = entered(test_pressure=None, test_factor=factor)
    body = permit(SILENT | {"/cylinder/service_pressure": service})
    assert str(judged(body, extra=rows).required_test_pressure) == required


def test_a_permits_factor_without_a_service_pressure_gives_nothing() -> None:
    rows = entered(test_pressure=None, test_factor=Fraction(3, 2))
    body = permit(SILENT | {"/cylinder/service_pressure": None})
    assert verdict(body, extra=rows) is Verdict.HELD


def test_a_lab_that_asks_less_than_the_entered_permit_is_held() -> None:
    assert outcome(permit(), "permit", extra=entered()) == (Verdict.HELD, Outcome.UNKNOWN)
    low = {"/limit_percent": "5", "/required_test_pressure": psi("5000")}
    assert outcome(permit(low), "permit", extra=entered()) == (Verdict.HELD, Outcome.UNKNOWN)


def test_a_permit_past_its_day_is_held() -> None:
    ended = entered(expires=EARLIER)
    assert outcome(permit(SILENT), "permit", extra=ended) == (Verdict.HELD, Outcome.UNKNOWN)
    assert verdict(permit(SILENT), extra=entered(expires=TESTED)) is Verdict.PASSED


def test_a_permits_service_life_ends_without_condemning() -> None:
    rows = entered(life_months=12 * 15)
    body = permit(SILENT | {"/cylinder/first_test": "2008-06"})
    assert outcome(body, "life", extra=rows) == (Verdict.REJECTED, Outcome.FAIL)


@pytest.mark.parametrize(
    ("text", "number"),
    [("DOT-SP 99999", "99999"), ("E6498", "6498"), ("SP", "SP"), (None, None)],
)
def test_the_number_of_a_permit(text: str | None, number: str | None) -> None:
    assert permit_number(text) == number


# Direct expansion


def direct(changes: dict[str, Any] | None = None) -> dict[str, Any]:
    return record(
        {
            "/method": "direct_expansion",
            "/total_expansion": cc("67.6"),
            "/permanent_expansion": cc("0.5"),
            "/elastic_expansion": None,
            "/calibration": None,
            "/water": {"forced_in": cc("238.1"), "temperature": celsius("20")},
            **(changes or {}),
        }
    )


def test_direct_expansion_is_followed_from_the_water_forced_in() -> None:
    assert outcome(direct(), "plausible") == (Verdict.PASSED, Outcome.OK)
    assert outcome(direct({"/water": None}), "plausible") == (Verdict.PASSED, Outcome.UNKNOWN)
    wrong = {
        "/total_expansion": cc("90.0"),
        "/cylinder/water_capacity": {"value": "11.1", "unit": "L"},
    }
    assert outcome(direct(wrong), "plausible") == (Verdict.HELD, Outcome.FAIL)


def test_more_expansion_than_water_cannot_be() -> None:
    body = direct({"/water/forced_in": cc("60.0")})
    assert outcome(body, "numbers_possible") == (Verdict.INVALID, Outcome.FAIL)


def test_the_smaller_total_decides_against_passing() -> None:
    near = direct({"/permanent_expansion": cc("6.7")})
    assert outcome(near, "permanent_expansion") == (Verdict.HELD, Outcome.UNKNOWN)
    over = direct({"/permanent_expansion": cc("6.8")})
    assert outcome(over, "permanent_expansion") == (Verdict.CONDEMNED, Outcome.FAIL)
    unknown = direct({"/permanent_expansion": cc("6.7"), "/cylinder/water_capacity": None})
    assert verdict(unknown) is Verdict.PASSED
    warm = direct({"/permanent_expansion": cc("6.7"), "/water/temperature": celsius("60")})
    assert verdict(warm) is Verdict.PASSED


def test_direct_expansion_gives_no_plus() -> None:
    body = steel({"/method": "direct_expansion", "/stamp/symbol": "+", "/ree": cc("66.3")})
    assert outcome(body, "plus") == (Verdict.HELD, Outcome.FAIL)


# Symbols


@pytest.mark.parametrize(
    ("changes", "symbol"),
    [
        ({}, ""),
        ({"/stamp/symbol": "+"}, "+"),
        ({"/stamp/symbol": "★"}, "star"),
        ({"/stamp/symbol": "*"}, "star"),
        ({"/stamp/symbol": "STAR"}, "star"),
        ({"/stamp": None}, ""),
        ({"/method": "proof_pressure"}, "S"),
        ({"/method": "proof_pressure", "/stamp": None}, "S"),
    ],
)
def test_the_symbol_after_the_date(changes: dict[str, Any], symbol: str) -> None:
    assert symbol_of(read(record(changes))) == symbol


def test_a_quantity_of_another_unit_is_the_same_amount() -> None:
    metric = record({"/test_pressure": {"value": "34500", "unit": "kPa"}, "/calibration": None})
    assert verdict(metric) is Verdict.PASSED
    assert Quantity(Decimal(345), "bar") == Quantity(Decimal(34500), "kPa")
