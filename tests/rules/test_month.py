"""A month is what a stamp gives; it lasts through its last day, leap years included."""

import calendar
import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cylinders.rules.month import Month

MONTHS = st.builds(Month, st.integers(1900, 2800), st.integers(1, 12))


@given(MONTHS, st.integers(-600, 600))
def test_going_on_and_back_is_where_one_was(month: Month, by: int) -> None:
    assert month.plus_months(by).plus_months(-by) == month


@given(MONTHS)
def test_first_and_last_day_are_those_of_the_calendar(month: Month) -> None:
    days = calendar.Calendar().itermonthdates(month.year, month.month)
    own = [day for day in days if day.month == month.month]
    assert (month.first_day, month.last_day) == (own[0], own[-1])
    assert Month.of(month.last_day) == month
    assert Month.parse(str(month)) == month


@given(MONTHS, MONTHS)
def test_months_come_in_the_order_of_their_days(one: Month, other: Month) -> None:
    assert (one < other) == (one.first_day < other.first_day)


def test_a_leap_february_has_its_day() -> None:
    assert Month(2023, 2).plus_months(60).last_day == dt.date(2028, 2, 29)
    assert Month(2024, 2).plus_months(60).last_day == dt.date(2029, 2, 28)


@pytest.mark.parametrize(
    "text", ["2026-13", "2026-00", "1849-01", "3000-01", "11-2026", "2026-1", ""]
)
def test_what_is_no_month_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="no month"):
        Month.parse(text)
