"""Which reminder of a duty goes when: the latest that has come, and no burst of those missed."""

import datetime as dt

import pytest

from cylinders.rules import notices

DUE = dt.date(2026, 11, 30)


@pytest.mark.parametrize("days", [[1.5], [True], ["7"], [10_000], [-10_000]])
def test_days_that_no_shop_can_mean_are_refused(days: list[object]) -> None:
    with pytest.raises(notices.NoticeDaysError):
        notices.checked(days)  # type: ignore[arg-type]  # what a setting may hold


@pytest.mark.parametrize(
    ("on", "goes"),
    [
        (dt.date(2026, 9, 30), None),  # 61 days before
        (dt.date(2026, 10, 1), 60),
        (dt.date(2026, 10, 31), 30),
        (dt.date(2026, 11, 24), 7),
        (dt.date(2026, 11, 30), 0),
        (dt.date(2026, 12, 29), 0),
        (dt.date(2026, 12, 30), -30),
    ],
)
def test_the_latest_notice_that_has_come_goes(on: dt.date, goes: int | None) -> None:
    assert notices.current(DUE, on=on) == goes


def test_after_the_last_notice_had_its_time_nothing_goes() -> None:
    last = notices.send_on(DUE, -30) + dt.timedelta(days=notices.LAST_GOES_FOR)
    assert notices.current(DUE, on=last) == -30
    assert notices.current(DUE, on=last + dt.timedelta(days=1)) is None


def test_what_is_coming_begins_with_what_may_go_today() -> None:
    coming = list(notices.coming(DUE, on=dt.date(2026, 11, 24), ahead=10))
    assert coming == [(7, dt.date(2026, 11, 23)), (0, DUE)]
    assert list(notices.coming(DUE, on=dt.date(2026, 1, 1), ahead=10)) == []
