"""The shop's page of its messages: staff only, nothing hidden, nothing sent by looking."""

import smtplib
from collections.abc import Iterator

import pytest
import time_machine
from django.core import mail
from django.core.mail import EmailMessage
from django.test import Client
from pytest_django import Settings

from api.models import StatusLink
from cylinders import history
from cylinders.models import Notice, NoticeState, Shop
from cylinders.operations.reminders import plan, sweep
from tests import mail_server, makers
from tests.api.pages.status.cast import open_shop
from tests.cylinders.operations.reminders.cast import at, at_home
from tests.post_office import OFFICE

pytestmark = pytest.mark.django_db

NOW = at("2026-11-25", 10)


@pytest.fixture(autouse=True)
def bench(client: Client) -> Iterator[None]:
    open_shop()
    client.force_login(makers.owner_one())
    with time_machine.travel(NOW, tick=False):
        yield


def page(client: Client, query: str = "") -> str:
    response = client.get(f"/bench/messages/{query}")
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def press(client: Client, name: str, **fields: object) -> str:
    form = {"do": name, "once": f"{name}{len(fields)}abcdefgh", **fields}
    response = client.post("/bench/messages/", form, follow=True)
    return " ".join(response.content.decode().split())


def row() -> Notice:
    return Notice.objects.get(days_before=7)


def test_strangers_and_customers_do_not_see_it() -> None:
    at_home()
    plan(on=NOW.date())
    stranger = Client()
    for path in ("/bench/messages/", f"/bench/messages/{row().pk}/"):
        response = stranger.get(path)
        assert response.status_code == 302
        assert "/bench/login/" in response.headers["Location"]


def test_what_goes_out_this_week_is_shown_by_day_and_looking_sends_nothing(client: Client) -> None:
    at_home()
    plan(on=NOW.date())
    text = page(client)
    assert "Wednesday 25 November" in text
    assert "Monday 30 November" in text
    assert "Odo Quill" in text
    assert "Requalification, ends 30 November 2026" in text
    assert not mail.outbox


def test_the_month_ahead_is_a_look_and_plans_nothing(client: Client) -> None:
    at_home()
    assert "Monday 30 November" in page(client, "?ahead")
    assert not Notice.objects.exists()


def test_a_preview_shows_the_message_and_leaves_nothing_behind(client: Client) -> None:
    at_home()
    plan(on=NOW.date())
    events = history.events_held()
    text = client.get(f"/bench/messages/{row().pk}/").content.decode()
    assert "Your cylinder: what is due" in text
    assert "Pressure test (hydrostatic requalification)" in text
    assert "/u/\u2026" in text
    assert not StatusLink.objects.exists()
    assert history.events_held() == events
    assert row().state == NoticeState.PLANNED
    assert client.get("/bench/messages/999999/").status_code == 404


def test_the_shop_pauses_and_starts_its_messages(client: Client) -> None:
    at_home()
    assert "PAUSED" in press(client, "pause", paused="1")
    assert sweep(now=NOW).messages == 0
    assert "STARTED" in press(client, "pause")
    assert sweep(now=NOW).messages == 1
    assert "Sent in the last seven days: 1" in page(client)


def test_one_message_is_stopped_and_stays_stopped(client: Client) -> None:
    at_home()
    plan(on=NOW.date())
    press(client, "stop", notice=row().pk)
    assert sweep(now=NOW).messages == 0
    plan(on=NOW.date())
    assert row().state == NoticeState.WITHDRAWN
    assert "there is nothing to stop" in press(client, "stop", notice=row().pk, extra="1")


def test_a_failed_message_is_tried_again_once_the_address_was_mended(
    client: Client, settings: Settings
) -> None:
    mail_server.use(settings, mail_server.FOLDING)
    OFFICE.empty()
    cylinder = at_home()

    def refuses(_: EmailMessage) -> None:
        raise smtplib.SMTPRecipientsRefused({"x": (550, b"no")})

    OFFICE.fault = refuses
    sweep(now=NOW)
    assert "Failed: 1" in page(client)
    assert "The mail server refused the address (550)" in page(client)
    OFFICE.fault = None
    press(client, "again", notice=row().pk)
    assert sweep(now=NOW).messages == 1
    cylinder.owner.refresh_from_db()
    assert not cylinder.owner.email_bounced
    refused = press(client, "again", notice=row().pk, extra="1")
    assert "it needs no second try" in refused
    OFFICE.empty()


def test_pausing_without_a_shop_says_what_is_missing(client: Client) -> None:
    Shop.objects.all().delete()
    assert "The shop is not set up yet" in press(client, "pause", paused="1")


def test_the_shop_sets_the_days_of_each_duty(client: Client) -> None:
    at_home()
    text = press(client, "days", duty="requalification", days="5, 90")
    assert "Reminded of on these days before: 90 5." in text
    assert 'value="90 5"' in page(client)
    plan(on=NOW.date())
    assert {r.days_before for r in Notice.objects.filter(duty="requalification")} == {5}


@pytest.mark.parametrize("days", ["", "soon", "7.5", "1e1", "\u0667", "999", "30; 7"])
def test_days_that_cannot_be_are_asked_for_again(client: Client, days: str) -> None:
    text = press(client, "days", duty="requalification", days=days)
    assert "Reminded of" not in text
    assert Shop.objects.get().notice_days == {}
    assert "is no duty" in press(client, "days", duty="sleep", days="7", extra="1")
