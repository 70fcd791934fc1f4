import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders.rules.duty import (
    Basis,
    DutyKind,
    DutyRule,
    State,
    counted_from,
    duty_from,
    latest,
    state_on,
)
from cylinders.rules.month import Month
from cylinders.rules.verdict import Certainty, Citation
from tests.rules.cast import TODAY

LAW = DutyRule(
    kind=DutyKind.REQUALIFICATION,
    basis=Basis.LAW,
    cites=Citation("49 CFR 180.209(a)", "2019-10-01"),
    months=60,
    blocks=True,
)
PRACTICE = DutyRule(
    kind=DutyKind.VALVE_SERVICE,
    basis=Basis.COMMON_PRACTICE,
    cites=Citation("trade practice", "", Certainty.FROM_MEMORY),
    months=12,
    blocks=False,
)


@pytest.mark.parametrize(
    ("due", "state"),
    [
        (None, State.UNKNOWN),
        ("2026-10-31", State.OVERDUE),
        ("2026-11-24", State.OVERDUE),
        ("2026-11-25", State.DUE_THIS_MONTH),
        ("2026-11-30", State.DUE_THIS_MONTH),
        ("2026-12-31", State.DUE_SOON),
        ("2027-01-24", State.DUE_SOON),
        ("2027-01-25", State.IN_DATE),
        ("2027-11-30", State.IN_DATE),
    ],
)
def test_the_state_turns_with_the_day(due: str | None, state: State) -> None:
    day = dt.date.fromisoformat(due) if due else None
    assert state_on(day, on=TODAY) is state


def test_how_soon_is_soon_may_be_chosen() -> None:
    day = dt.date(2027, 1, 31)
    assert state_on(day, on=TODAY, soon_days=67) is State.DUE_SOON
    assert state_on(day, on=TODAY, soon_days=66) is State.IN_DATE


DAYS = st.dates(dt.date(1900, 1, 1), dt.date(2500, 1, 1))


@given(DAYS, DAYS, st.integers(0, 400))
@settings(max_examples=200)
def test_a_state_never_gets_better_as_days_pass(due: dt.date, on: dt.date, days: int) -> None:
    order = [State.IN_DATE, State.DUE_SOON, State.DUE_THIS_MONTH, State.OVERDUE]
    later = on + dt.timedelta(days=days)
    assert order.index(state_on(due, on=later)) >= order.index(state_on(due, on=on))


@pytest.mark.parametrize(
    ("last", "says"),
    [
        ("2024-05", "Requalification: in date through 2029-05-31. Why."),
        ("2021-12", "Requalification: due in 36 days, good through 2026-12-31. Why."),
        ("2021-11", "Requalification: due this month, good through 2026-11-30. Why."),
        ("2021-10", "Requalification: OUT OF DATE, ran out on 2026-10-31. Why."),
        (None, "Requalification: NOT KNOWN when it was last done. Why."),
    ],
)
def test_each_state_has_its_sentence(last: str | None, says: str) -> None:
    month = Month.parse(last) if last else None
    duty = counted_from(LAW, on=TODAY, last=month, why="Why.")
    assert duty.says == says
    assert duty.last_done == month
    assert duty.kind is DutyKind.REQUALIFICATION
    assert duty.cites == LAW.cites


def test_what_is_not_law_and_not_read_says_both() -> None:
    duty = counted_from(PRACTICE, on=TODAY, last=Month(2026, 5))
    assert duty.says == (
        "Valve service: in date through 2027-05-31. Common practice, not law. Figure from memory."
    )


def test_a_figure_of_a_law_that_was_not_read_says_so() -> None:
    told = DutyRule(
        kind=DutyKind.INTERNAL_VISUAL,
        basis=Basis.LAW,
        cites=Citation("a national rule", "", Certainty.SECOND_HAND),
        months=30,
        blocks=True,
    )
    assert counted_from(told, on=TODAY, last=Month(2026, 5)).says.endswith("Figure second-hand.")


def test_common_practice_as_such_is_not_said_twice() -> None:
    rule = DutyRule(
        kind=DutyKind.INTERNAL_VISUAL,
        basis=Basis.COMMON_PRACTICE,
        cites=Citation("yearly", "", Certainty.COMMON_PRACTICE),
        months=12,
        blocks=True,
    )
    says = counted_from(rule, on=TODAY, last=Month(2026, 5)).says
    assert says == "Internal visual: in date through 2027-05-31. Common practice, not law."


@pytest.mark.parametrize(
    ("rule", "last", "stops"),
    [
        (LAW, Month(2021, 10), True),
        (LAW, None, True),
        (LAW, Month(2021, 11), False),
        (LAW, Month(2024, 5), False),
        (PRACTICE, None, False),
        (PRACTICE, Month(2020, 1), False),
    ],
)
def test_only_a_blocking_duty_that_is_late_or_unknown_stops_a_fill(
    rule: DutyRule,
    last: Month | None,
    stops: bool,  # noqa: FBT001 - a table row
) -> None:
    assert counted_from(rule, on=TODAY, last=last).stops_fill is stops


def test_a_duty_without_a_period_has_no_day() -> None:
    rule = DutyRule(
        kind=DutyKind.REQUALIFICATION, basis=Basis.LAW, cites=LAW.cites, months=None, blocks=True
    )
    assert counted_from(rule, on=TODAY, last=Month(2024, 5)).state is State.UNKNOWN


def test_a_duty_may_be_given_its_day() -> None:
    duty = duty_from(LAW, on=TODAY, last=None, due=dt.date(2027, 3, 31))
    assert duty.says == "Requalification: in date through 2027-03-31."


@pytest.mark.parametrize(
    ("months", "found"),
    [
        ((), None),
        ((None, None), None),
        ((Month(2026, 5), None, Month(2025, 1)), Month(2026, 5)),
        ((Month(2026, 11), Month(2026, 12)), Month(2026, 11)),
        ((Month(2027, 1),), None),
    ],
)
def test_the_latest_month_is_one_that_is_known_and_not_ahead(
    months: tuple[Month | None, ...], found: Month | None
) -> None:
    assert latest(TODAY, *months) == found


def test_the_words_of_the_answer_are_the_promised_ones() -> None:
    assert [state.value for state in State] == [
        *("in_date", "due_soon", "due_this_month", "overdue", "unknown"),
    ]
    assert [kind.value for kind in DutyKind] == [
        *("requalification", "internal_visual", "thread_examination"),
        *("oxygen_cleaning", "valve_service"),
    ]
    assert [basis.value for basis in Basis] == ["law", "common practice"]
