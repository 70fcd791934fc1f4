"""49 CFR 180.205(c) and 180.207(a)(2): any time before or during the month that is due.

Annual edition revised 2019-10-01; that a month lasts through its last day is our reading of it. The
table of marks and days was worked out by hand on a calendar.
"""

import datetime as dt
from dataclasses import replace

import pytest

from cylinders.rules.duty import State, state_on
from cylinders.rules.extra_rows import ExtraRows, PermitRow
from cylinders.rules.intervals import next_requalification
from cylinders.rules.status import fit_for_fill
from cylinders.rules.verdict import Citation
from tests.rules.cast import marks, month, steel

COVERS = [
    "due_2021-11_plus_60m",
    "due_2021-10_plus_60m",
    "due_2023-02_plus_60m",
    "due_2020-02_plus_60m",
    "due_2024-02_plus_60m",
    "due_2025-11_plus_12m",
    "due_2016-11_plus_120m",
    "due_2019-01_plus_144m",
    "reminder_90_days",
    "reminder_60_days",
    "reminder_30_days",
]
ON = dt.date(2026, 11, 25)


@pytest.mark.parametrize(
    ("mark", "months", "last_day", "overdue_from", "state"),
    [
        ("2021-11", 60, "2026-11-30", "2026-12-01", State.DUE_THIS_MONTH),
        ("2021-10", 60, "2026-10-31", "2026-11-01", State.OVERDUE),
        ("2023-02", 60, "2028-02-29", "2028-03-01", State.IN_DATE),
        ("2020-02", 60, "2025-02-28", "2025-03-01", State.OVERDUE),
        ("2024-02", 60, "2029-02-28", "2029-03-01", State.IN_DATE),
        ("2025-11", 12, "2026-11-30", "2026-12-01", State.DUE_THIS_MONTH),
        ("2016-11", 120, "2026-11-30", "2026-12-01", State.DUE_THIS_MONTH),
        ("2019-01", 144, "2031-01-31", "2031-02-01", State.IN_DATE),
    ],
)
def test_a_mark_lasts_through_the_last_day_of_its_month(
    mark: str, months: int, last_day: str, overdue_from: str, state: State
) -> None:
    row = PermitRow(permit="99999", interval_months=months, cites=Citation("a period"))
    facts = steel(specification="SPECIAL_PERMIT", permit="99999", requalifications=marks(mark))
    found = next_requalification(facts, on=ON, extra=ExtraRows(permits=(row,)))
    assert str(found.due) == last_day
    assert state_on(found.due, on=ON) is state
    assert state_on(found.due, on=dt.date.fromisoformat(last_day)) is State.DUE_THIS_MONTH
    assert state_on(found.due, on=dt.date.fromisoformat(overdue_from)) is State.OVERDUE


@pytest.mark.parametrize(
    ("days", "first"), [(90, "2026-11-02"), (60, "2026-12-02"), (30, "2027-01-01")]
)
def test_days_ahead_are_calendar_days_from_the_end_of_the_month(days: int, first: str) -> None:
    """Due 2027-01-31: nothing to tell the day before, something to tell on the day."""
    due = dt.date(2027, 1, 31)
    day = dt.date.fromisoformat(first)
    assert (due - day).days == days
    before = state_on(due, on=day - dt.timedelta(days=1), soon_days=days)
    assert before is State.IN_DATE
    assert state_on(due, on=day, soon_days=days) in (State.DUE_SOON, State.DUE_THIS_MONTH)


def test_c_filled_on_the_last_day_and_refused_on_the_next() -> None:
    facts = steel(requalifications=marks("2021-11"))
    assert fit_for_fill(facts, on=dt.date(2026, 11, 30)).allowed
    refused = fit_for_fill(facts, on=dt.date(2026, 12, 1))
    assert [reason.code for reason in refused.reasons] == ["requalification_overdue"]


def test_c_filled_before_it_became_due_it_may_stay_in_service_until_emptied() -> None:
    refused = fit_for_fill(steel(requalifications=marks("2021-11")), on=dt.date(2026, 12, 1))
    assert [note.code for note in refused.notes] == ["use_until_empty"]


def test_c_a_test_before_the_month_is_valid_and_does_not_keep_the_old_month() -> None:
    early = steel(requalifications=marks("2021-11", "2026-08"))
    assert str(next_requalification(early, on=ON).due) == "2031-08-31"


def test_h_i_rejected_and_condemned_are_not_filled() -> None:
    for facts in (steel(rejected=True), steel(condemned=True)):
        verdict = fit_for_fill(facts, on=ON)
        assert not verdict.allowed
        assert verdict.max_pressure is None


def test_i_1_v_a_3ht_over_24_years_or_4380_fills_is_at_its_end() -> None:
    aircraft = replace(
        steel(specification="3HT", requalifications=marks("2025-04"), fills=4379),
        first_test=month("2002-12"),
    )
    assert fit_for_fill(aircraft, on=ON).allowed
    worn = replace(aircraft, fills=4380)
    old = replace(aircraft, first_test=month("2002-10"))
    for ended in (worn, old):
        assert fit_for_fill(ended, on=ON).max_pressure is None
