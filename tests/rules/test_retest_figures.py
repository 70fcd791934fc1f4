"""The dated figures: one in force for each name and day, each with its source."""

import datetime as dt

import pytest

from cylinders.rules.retest_figures import FIGURES, Name, figure, share
from cylinders.rules.verdict import Certainty

DAYS = (
    dt.date(1950, 1, 1),
    dt.date(2002, 8, 7),
    dt.date(2002, 8, 8),
    dt.date(2021, 12, 28),
    dt.date(2026, 11, 25),
)


@pytest.mark.parametrize("name", list(Name))
@pytest.mark.parametrize("day", DAYS)
def test_exactly_one_row_is_in_force(name: Name, day: dt.date) -> None:
    rows = [row for row in FIGURES if row.name is name and row.holds_on(day)]
    assert rows == [figure(name, on=day)]
    assert rows[0].cites.source
    assert rows[0].unit


def test_what_stood_before_the_sections_is_from_memory() -> None:
    before, after = (figure(Name.HOLD, on=day) for day in DAYS[1:3])
    assert before.cites.certainty is Certainty.FROM_MEMORY
    assert after.cites.certainty is Certainty.READ
    assert after.cites.edition == "2019-10-01"


def test_a_share_is_exact() -> None:
    assert share(Name.SYSTEM_CHECK, on=DAYS[-1]) * 10 == 9
