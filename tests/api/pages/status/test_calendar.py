"""The feed of due dates, read back by a parser that knows nothing of the one that wrote it."""

import datetime as dt
from collections.abc import Iterator

import pytest
import time_machine
import vobject
from django.test import Client

from cylinders.models import Cylinder
from tests import makers
from tests.api.pages.status.cast import link_to, open_shop

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    with time_machine.travel(makers.NOON, tick=False):
        yield


def feed(client: Client, token: str) -> bytes:
    response = client.get(f"/s/{token}/calendar.ics")
    assert response.status_code == 200
    assert response.headers["Content-Type"] == "text/calendar; charset=utf-8"
    return response.content


def test_each_known_due_date_is_one_whole_day_that_says_the_month_is_meant(client: Client) -> None:
    open_shop()
    calendar = vobject.readOne(feed(client, link_to(makers.receive()).token).decode())
    events = {str(event.summary.value).split(" due")[0]: event for event in calendar.vevent_list}
    assert set(events) == {"Pressure test", "Look inside", "Neck threads"}  # no valve service yet
    test = events["Pressure test"]
    assert test.dtstart.value == dt.date(2026, 11, 1)
    assert test.dtend.value == dt.date(2026, 11, 2)
    assert test.transp.value == "TRANSPARENT"
    assert test.summary.value == "Pressure test due in November 2026: cylinder KX40417"
    assert "Only the month is known" in test.description.value
    assert "Slack Water Divers 555-0100" in test.description.value
    assert test.valarm.trigger.value == dt.timedelta(days=-30)
    assert test.valarm.action.value == "DISPLAY"


def test_names_of_entries_stay_the_same_until_the_duty_is_done(client: Client) -> None:
    order = makers.receive()
    first = vobject.readOne(feed(client, link_to(order).token).decode())
    second = vobject.readOne(feed(client, link_to(order).token).decode())
    names = {event.uid.value for event in first.vevent_list}
    assert names == {event.uid.value for event in second.vevent_list}
    assert len(names) == 3
    Cylinder.objects.filter(pk=order.cylinder_id).update(requalified="2026-11")
    third = vobject.readOne(feed(client, link_to(order).token).decode())
    assert len(names - {event.uid.value for event in third.vevent_list}) >= 1


def test_every_line_has_the_form_that_rfc_5545_asks_for(client: Client) -> None:
    # RFC 5545 section 3.1: lines end with CRLF and hold at most 75 octets.
    body = feed(client, link_to(makers.receive(serial="\u00e9" * 50)).token)
    lines = body.split(b"\r\n")
    assert lines[-1] == b""
    assert b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75
    for wanted in (b"VERSION:2.0", b"REFRESH-INTERVAL;VALUE=DURATION:P1D", b"X-PUBLISHED-TTL:P1D"):
        assert wanted in lines


def test_what_was_typed_cannot_add_lines_of_its_own(client: Client) -> None:
    order = makers.receive(serial="X\r\nBEGIN:VEVENT\r\nSUMMARY:no")
    calendar = vobject.readOne(feed(client, link_to(order).token).decode())
    assert len(calendar.vevent_list) == 3


def test_a_cylinder_out_of_use_has_an_empty_feed(client: Client) -> None:
    order = makers.receive()
    Cylinder.objects.filter(pk=order.cylinder_id).update(life="condemned")
    calendar = vobject.readOne(feed(client, link_to(order).token).decode())
    assert not hasattr(calendar, "vevent")
