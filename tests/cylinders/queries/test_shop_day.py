"""A year of days in six time zones: each notice once, on its day, in the shop's hours."""

import datetime as dt
from collections import Counter
from zoneinfo import ZoneInfo

import pytest
from pytest_django import Settings

from cylinders.models import Shop
from cylinders.queries.shop_day import shop_day, zone_of
from cylinders.rules import notices

HOUR = dt.timedelta(hours=1)
#: Zones with half hours, with a change of half an hour, and one that skipped a whole day.
YEARS = [
    ("UTC", "2026-01-01"),
    ("Europe/Paris", "2026-01-01"),
    ("America/New_York", "2026-01-01"),
    ("Australia/Lord_Howe", "2026-01-01"),
    ("Pacific/Apia", "2011-07-01"),
    ("Asia/Kathmandu", "2026-01-01"),
]


def hours_of(zone: str, first: str, days: int = 366) -> list[dt.datetime]:
    begins = dt.datetime.fromisoformat(first).replace(tzinfo=ZoneInfo(zone)).astimezone(dt.UTC)
    return [begins + n * HOUR for n in range(24 * days)]


@pytest.mark.parametrize(("zone", "first"), YEARS)
@pytest.mark.sampled(of=4)
def test_each_notice_goes_once_on_its_day_and_in_hours(zone: str, first: str) -> None:
    begins = dt.date.fromisoformat(first)
    # Last days in date all over the middle half of the year.
    dues = [begins + dt.timedelta(days=n) for n in range(90, 280, 3)]
    sent: Counter[tuple[dt.date, int]] = Counter()
    days: dict[tuple[dt.date, int], dt.date] = {}
    for at in hours_of(zone, first):
        day = shop_day(at, zone=ZoneInfo(zone))
        if not notices.may_send(day.local):
            continue
        assert 8 <= day.local.hour < 18
        for due in dues:
            now = notices.current(due, on=day.on)
            if now is not None and (due, now) not in sent:
                sent[due, now] += 1
                days[due, now] = day.on
    assert set(sent) == {(due, before) for due in dues for before in notices.DAYS_BEFORE}
    late = {
        key: day - notices.send_on(*key)
        for key, day in days.items()
        if day != notices.send_on(*key)
    }
    skipped = dt.date(2011, 12, 30)  # the day that Samoa left out
    expected = {key for key in days if notices.send_on(*key) == skipped and zone == "Pacific/Apia"}
    assert set(late) == expected
    assert bool(expected) is (zone == "Pacific/Apia")
    assert set(late.values()) <= {dt.timedelta(days=1)}


@pytest.mark.parametrize(("zone", "first"), YEARS)
def test_the_ends_of_a_day_hold_every_moment_of_it_and_no_other(zone: str, first: str) -> None:
    last_end = None
    for at in hours_of(zone, first)[::5]:
        day = shop_day(at, zone=ZoneInfo(zone))
        assert day.begins <= at < day.ends
        assert day.begins.astimezone(ZoneInfo(zone)).date() == day.on
        assert day.ends - day.begins in [dt.timedelta(hours=n / 2) for n in range(46, 51)]
        if last_end is not None and day.begins > at - 5 * HOUR:
            assert last_end <= day.ends
        last_end = day.ends


def test_a_zone_that_moves_with_the_shop_sends_nothing_twice() -> None:
    due = dt.date(2026, 6, 30)
    sent: Counter[int] = Counter()
    for n, at in enumerate(hours_of("UTC", "2026-01-01")):
        zone = ZoneInfo("Pacific/Kiritimati" if n > 24 * 170 else "Pacific/Pago_Pago")
        day = shop_day(at, zone=zone)
        now = notices.current(due, on=day.on)
        if now is not None and now not in sent and notices.may_send(day.local):
            sent[now] += 1
    assert sent == Counter(dict.fromkeys(notices.DAYS_BEFORE, 1))


@pytest.mark.parametrize("name", ["Nowhere/Atlantis", "", "../../etc/passwd"])
def test_a_zone_that_nobody_knows_falls_back_on_the_settings(name: str, settings: Settings) -> None:
    settings.SHOP_TIME_ZONE = "Europe/Paris"
    assert zone_of(Shop(time_zone=name)).key == "Europe/Paris"
    assert zone_of(None).key == "Europe/Paris"


def test_a_service_that_slept_a_week_never_sends_two_notices_of_one_duty() -> None:
    due = dt.date(2026, 6, 30)
    for wakes in range(400):
        on = dt.date(2026, 4, 1) + dt.timedelta(days=wakes)
        now = notices.current(due, on=on)
        assert now is None or notices.send_on(due, now) <= on
    assert notices.current(due, on=dt.date(2026, 7, 29)) == 0
    assert notices.current(due, on=dt.date(2026, 7, 30)) == -30
    assert notices.current(due, on=dt.date(2026, 8, 29)) == -30
    assert notices.current(due, on=dt.date(2026, 8, 30)) is None


@pytest.mark.parametrize("wrong", [["30"], [30.5], [True], [900], [None]])
def test_days_that_no_shop_can_mean_are_refused(wrong: list[int]) -> None:
    with pytest.raises(notices.NoticeDaysError):
        notices.checked(wrong)
