"""Cylinders at home with their owners, whose requalification ends in November 2026."""

import datetime as dt
from collections.abc import Iterator
from zoneinfo import ZoneInfo

import pytest
from pytest_django import Settings

from cylinders.facts import Actor
from cylinders.models import Customer, Cylinder, Shop
from cylinders.operations import handover
from cylinders.operations.reminders import Swept, sweep
from tests import mail_server, makers
from tests.post_office import OFFICE, plain_writer

BY = Actor("staff", "1")
LAST_DAY = dt.date(2026, 11, 30)
NEW_YORK = ZoneInfo("America/New_York")


def open_shop(zone: str = "America/New_York") -> Shop:
    return Shop.objects.create(
        name="Slack Water Divers", phone="555-0100", email="shop@example.org", time_zone=zone
    )


@pytest.fixture
def post_office(settings: Settings) -> Iterator[None]:
    """A shop, and a mail server that folds on Message-ID and has nothing yet."""
    mail_server.use(settings, mail_server.FOLDING)
    OFFICE.empty()
    open_shop()
    yield
    OFFICE.empty()


def at_home(owner: Customer | None = None, *, serial: str = "KX40417") -> Cylinder:
    """A cylinder that was seen once and went home; only its requalification has a day."""
    order = makers.receive(owner, serial=serial, at=dt.datetime(2025, 1, 1, tzinfo=dt.UTC))
    handover.withdraw(work_order_id=order.pk, reason="as it is", at=makers.NOON, by=BY)
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=makers.NOON, by=BY)
    Cylinder.objects.filter(pk=order.cylinder_id).update(last_visual="2026-10")
    return Cylinder.objects.get(pk=order.cylinder_id)


def at(day: dt.date | str, hour: int = 12, minute: int = 0) -> dt.datetime:
    """That hour by the clock of New York."""
    date = dt.date.fromisoformat(day) if isinstance(day, str) else day
    return dt.datetime.combine(date, dt.time(hour, minute), tzinfo=NEW_YORK)


def run(now: dt.datetime) -> Swept:
    return sweep(now=now, write=plain_writer)
