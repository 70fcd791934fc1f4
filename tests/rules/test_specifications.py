"""The table of specifications: every row complete, dated rows, and the pressures that follow."""

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders.rules.quantity import Quantity, bar, psi
from cylinders.rules.specifications import (
    SPECIFICATIONS,
    Interval,
    Material,
    PressureRule,
    exact_minimum,
    find,
    minimum_test_pressure,
    service_pressure_when_not_marked,
)
from cylinders.rules.verdict import Certainty

TODAY = dt.date(2026, 11, 25)
ROWS = list(SPECIFICATIONS.values())


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.code)
def test_every_row_names_its_sources_and_is_whole(row: object) -> None:
    spec = next(one for one in ROWS if one is row)
    assert spec.title
    assert spec.cites.source
    assert spec.test_cites.source
    assert (spec.factor is not None) == (spec.test is PressureRule.FACTOR)
    assert (spec.fixed_test is not None) == (spec.test is PressureRule.FIXED)
    assert all(interval.cites.source for interval in spec.intervals)
    assert SPECIFICATIONS[spec.code] is spec


def test_an_unknown_code_has_no_row() -> None:
    assert find("5P") is None
    assert find("3AL") is SPECIFICATIONS["3AL"]


def test_metric_rows_carry_no_us_plus_or_star_and_say_what_is_from_memory() -> None:
    metric = [row for row in ROWS if row.us_equivalent]
    assert {"3AAM", "3ALM"} <= {row.code for row in metric}
    for row in metric:
        assert (row.unit, row.plus_allowed, row.star_allowed) == ("bar", False, False)
        assert row.test_cites.certainty is Certainty.FROM_MEMORY
        assert row.factor == SPECIFICATIONS[row.us_equivalent or ""].factor
    assert SPECIFICATIONS["3AAM"].cites.certainty is Certainty.SECOND_HAND
    assert SPECIFICATIONS["3HTM"].life_years == 24


@pytest.mark.parametrize(
    ("code", "service", "expected"),
    [
        ("3AL", psi(3000), "5000 psi"),
        ("3AA", psi(2250), "3750 psi"),
        ("3AA", psi(2400), "4000 psi"),
        ("3AL", psi(2015), "3359 psi"),
        ("3A", psi(1800), "3000 psi"),
        ("3AL", psi(240), "480 psi"),
        ("3AL", psi(200), "450 psi"),
        ("3AL", bar(207), "345 bar"),
        ("3AL", bar(14), "32 bar"),
        ("3AAM", bar(184), "307 bar"),
        ("4B", psi(500), "1000 psi"),
        ("3", psi(1800), "3000 psi"),
        ("3", None, "3000 psi"),
        ("FOREIGN", bar(200), "334 bar"),
    ],
)
def test_the_minimum_test_pressure_is_rounded_up(
    code: str, service: Quantity | None, expected: str
) -> None:
    assert str(minimum_test_pressure(SPECIFICATIONS[code], service)) == expected


@pytest.mark.parametrize("code", ["SPECIAL_PERMIT", "39", "3E", "4L", "8", "8AL", "3A480X"])
def test_no_test_pressure_is_made_up(code: str) -> None:
    assert minimum_test_pressure(SPECIFICATIONS[code], psi(3000)) is None
    assert exact_minimum(SPECIFICATIONS["3AL"], None) is None


@settings(max_examples=200, deadline=None)
@given(
    st.sampled_from([row.code for row in ROWS if row.test is PressureRule.FACTOR]),
    st.integers(1, 10_000),
    st.sampled_from(["psi", "bar"]),
)
def test_the_shown_pressure_is_never_under_the_exact_one(code: str, figure: int, unit: str) -> None:
    service = Quantity(Decimal(figure), unit)
    exact = exact_minimum(SPECIFICATIONS[code], service)
    shown = minimum_test_pressure(SPECIFICATIONS[code], service)
    assert exact is not None
    assert shown is not None
    assert exact <= Fraction(shown.value) < exact + 1
    assert shown.unit == unit


def test_pressures_of_marks_without_one() -> None:
    assert service_pressure_when_not_marked(SPECIFICATIONS["3E"]) == psi(1800)
    assert service_pressure_when_not_marked(SPECIFICATIONS["8AL"]) == psi(250)
    assert service_pressure_when_not_marked(SPECIFICATIONS["3AL"]) is None
    assert service_pressure_when_not_marked(SPECIFICATIONS["4AA480"]) is None


def test_a_repealed_period_holds_until_its_last_day() -> None:
    def years(day: dt.date) -> set[int]:
        rows = SPECIFICATIONS["4B"].intervals_on(day)
        return {row.years for row in rows if row.basis is Interval.NON_CORROSIVE}

    assert years(dt.date(2020, 11, 29)) == {10}
    assert years(dt.date(2020, 11, 30)) == {12, 10}
    proof = [row for row in SPECIFICATIONS["4B"].intervals_on(TODAY) if row.method == "proof"]
    assert {(row.first_years, row.years) for row in proof} == {(12, 10), (12, 7)}


def test_the_general_period() -> None:
    periods = {row.code: row.general_interval(TODAY) for row in ROWS}
    assert {code: found.years for code, found in periods.items() if found and code[-1] != "M"} == {
        **dict.fromkeys(["3", "3A", "3AX", "3AA", "3AAX", "3A480X", "3AL", "3B", "3BN", "3T"], 5),
        **dict.fromkeys(["4AA480", "4B", "4BA", "4BW", "4B240ET", "4D", "4DA", "4DS", "4E"], 5),
        "3HT": 3,
        "FOREIGN": 5,
    }
    assert periods["SPECIAL_PERMIT"] is None


def test_plus_star_life_and_limits_stand_where_they_belong() -> None:
    assert {row.code for row in ROWS if row.plus_allowed} == {"3A", "3AX", "3AA", "3AAX", "3T"}
    assert {row.code for row in ROWS if row.star_allowed} == {"3A", "3AA"}
    assert {row.code for row in ROWS if not row.refillable} == {"39"}
    assert {row.code for row in ROWS if row.permanent_limit_percent == 12} == {"4E", "4EM"}
    assert SPECIFICATIONS["3HT"].life_fills == 4380
    assert SPECIFICATIONS["3HT"].ree_condemns
    assert SPECIFICATIONS["3BN"].material is Material.NICKEL
    assert {row.code for row in ROWS if row.material is Material.ALUMINIUM} == {
        "3AL",
        "3ALM",
        "4E",
        "4EM",
    }
