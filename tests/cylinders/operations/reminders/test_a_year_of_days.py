"""A year of invented days: each notice once, in the shop's hours, whatever the clocks there do.

From June 2011 to May 2012: both changes of the clock in each zone that has them, by half an hour on
Lord Howe Island; 30 December 2011, which Samoa skipped; 29 February 2012.
"""

import datetime as dt
import random
from collections import Counter
from collections.abc import Iterator
from zoneinfo import ZoneInfo

import pytest
from django.core.mail import EmailMessage
from pytest_django import Settings

from cylinders.models import Cylinder, Notice, NoticeState, Shop
from cylinders.operations.reminders import sweep
from cylinders.queries.due_index import rule_book
from cylinders.rules import notices
from tests import mail_server, makers
from tests.cylinders.operations.reminders.cast import open_shop
from tests.post_office import OFFICE, plain_writer

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]
ZONES = (
    *("UTC", "Europe/Paris", "America/New_York"),
    *("Australia/Lord_Howe", "Pacific/Apia", "Asia/Kathmandu"),
)
FIRST = dt.date(2011, 6, 1)
YEAR = 366
HOUR = dt.timedelta(hours=1)
#: Around midnight, and on both sides of the hours in which messages go.
HOURS = (0, 3, 7, 8, 9, 12, 15, 17, 18, 23)
#: One message of one row: cylinder, duty, last day, days before.
Key = tuple[int, str, dt.date, int]


@pytest.fixture
def sent(settings: Settings) -> Iterator[list[dt.datetime]]:
    """The moments at which messages arrived; the clock is the test's own."""
    mail_server.use(settings, mail_server.FOLDING)
    OFFICE.empty()
    yield []
    OFFICE.empty()


def make_shop(zone: str, *, owners: int = 10) -> None:
    """Owners of a cylinder each, whose duties end all over the year and around it."""
    open_shop(zone)
    rng = random.Random(4)
    months = [f"{2006 + n // 12}-{n % 12 + 1:02d}" for n in range(5, 20)]
    Cylinder.objects.bulk_create(
        Cylinder(
            authority="DOT",
            specification="3AL",
            service_pressure="3000",
            first_test="2001-01",
            requalified=rng.choice(months),
            last_visual=f"20{rng.choice((10, 11))}-{rng.randint(1, 12):02d}",
            owner=makers.make_customer(f"Odo{number} Quill"),
        )
        for number in range(owners)
    )


def live_through(
    zone: str, first: dt.date, days: int, *, hours: tuple[int, ...] = HOURS
) -> Counter[Key]:
    """Sweep at a chance minute of some hours; returns how often each row was told.

    Planned is at each third sweep, so that most of them find only what was planned before.

    Fails where a message goes outside the hours by the shop's own clock, or later than the sweep
    that could send it.
    """
    rng = random.Random(zone)
    told: Counter[Key] = Counter()
    here = ZoneInfo(zone)
    midnight = dt.datetime.combine(first, dt.time(), tzinfo=here).astimezone(dt.UTC)
    last = first + dt.timedelta(days=days - 1)
    for hour in range(24 * days):
        now = midnight + hour * HOUR + dt.timedelta(minutes=rng.randint(0, 59))
        local = now.astimezone(here)
        if local.date() > last:  # a zone that skipped a day is there sooner
            break
        if local.hour not in hours:
            continue
        before = len(OFFICE.arrived)
        sweep(now=now, planning=hour % 3 == 0, write=plain_writer)
        for message in OFFICE.arrived[before:]:
            assert notices.may_send(local), local
            told.update(keys_of(message))
    return told


def keys_of(message: EmailMessage) -> Iterator[Key]:
    for line in str(message.body).splitlines():
        cylinder, duty, due, days = line.split()
        yield int(cylinder), duty, dt.date.fromisoformat(due), int(days)


def expected(first: dt.date, days: int) -> set[Key]:
    """By the rules alone: the latest notice of what was due before, then each that comes."""
    last = first + dt.timedelta(days=days - 1)
    found: set[Key] = set()
    book = rule_book()
    for cylinder in Cylinder.objects.all():
        known = book.look(cylinder, on=last).days
        for duty, due in ((duty, due) for duty, due in known.items() if due is not None):
            for days_before, day in notices.coming(due, on=first, ahead=days - 1):
                if day <= last:
                    found.add((cylinder.pk, duty, due, days_before))
    return found


def check_the_year(
    zone: str, first: dt.date, days: int, *, hours: tuple[int, ...], owners: int = 10
) -> int:
    make_shop(zone, owners=owners)
    Cylinder.objects.filter(last_visual__gt=f"{first:%Y-%m}").update(last_visual="2011-01")
    told = live_through(zone, first, days, hours=hours)
    assert set(told.values()) == {1}
    assert set(told) == expected(first, days)
    left = Notice.objects.exclude(state=NoticeState.SENT)
    assert not left.filter(send_on__lte=first + dt.timedelta(days=days - 1)).exists()
    return len(told)


@pytest.mark.long
@pytest.mark.parametrize("zone", ZONES)
def test_in_366_days_each_notice_goes_once_and_in_the_shops_hours(
    zone: str, sent: list[dt.datetime]
) -> None:
    count = check_the_year(zone, FIRST, YEAR, hours=HOURS, owners=30)
    print(f"\n{zone}: {count} notices, each once")  # noqa: T201 - the figures of a long run
    assert count > 100


@pytest.mark.parametrize(
    ("zone", "first"),
    [
        ("Pacific/Apia", dt.date(2011, 12, 27)),  # without the 30th of December
        ("Australia/Lord_Howe", dt.date(2011, 9, 28)),  # half an hour less on 2 October
        ("America/New_York", dt.date(2012, 2, 27)),  # over the 29th of February
    ],
)
@pytest.mark.sampled(of=3)
def test_around_an_odd_day_each_notice_goes_once_and_in_the_shops_hours(
    zone: str, first: dt.date, sent: list[dt.datetime]
) -> None:
    assert check_the_year(zone, first, 8, hours=HOURS) > 3


def test_a_shop_that_moves_to_another_zone_sends_nothing_twice(sent: list[dt.datetime]) -> None:
    make_shop("Europe/Paris")
    told = live_through("Europe/Paris", dt.date(2011, 10, 1), 4, hours=(8, 12, 17))
    Shop.objects.update(time_zone="Pacific/Auckland")
    told += live_through("Pacific/Auckland", dt.date(2011, 10, 5), 4, hours=(8, 12, 17))
    assert set(told.values()) == {1}
