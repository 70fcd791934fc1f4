"""A customer follows a cylinder from drop-off to collection, is reminded, and sells it."""

import datetime as dt
import re
from email.utils import parseaddr

import pytest
import time_machine
import vobject
from django.core import mail
from django.core.cache import cache
from django.test import Client

from api import links
from cylinders.facts import Actor
from cylinders.operations import filling, handover
from cylinders.operations.reminders import sweep
from cylinders.queries.verification import verify
from cylinders.rules.quantity import psi
from tests import makers
from tests.api.pages.status.cast import canary, link_to, open_shop, put_together, tag_of
from tests.cylinders.operations.reminders.cast import at

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

BY = Actor("staff", "1")


def words(client: Client, path: str, when: dt.datetime, status: int = 200) -> str:
    with time_machine.travel(when, tick=False):
        response = client.get(path)
    assert response.status_code == status
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


def path_in_the_last_message(prefix: str) -> str:
    found = re.search(rf"http://127\.0\.0\.1:8000({prefix}\S+)", str(mail.outbox[-1].body))
    assert found is not None
    return found[1]


def test_from_drop_off_to_the_reminder_a_year_later_and_the_sale(client: Client) -> None:
    cache.clear()
    open_shop()
    owner = canary()
    order = put_together(owner)
    tag = tag_of(order)
    page = f"/s/{link_to(order).token}"

    # While it is in the shop: how far it has come, and what the lab measured.
    text = words(client, page, at("2026-11-25", 9))
    assert "At the shop, put back together" in text
    assert "Step 6 of 8" in text
    assert "Permanent expansion is 1.3 % of total, within the limit of 10 %." in text

    # Filled, ready: told once by mail, and the page says so.
    now = at("2026-11-25", 10)
    filling.fill(
        work_order_id=order.pk,
        oxygen_fraction="0.21",
        pressure=psi(3000),
        on=now.date(),
        at=now,
        by=BY,
    )
    handover.call_ready(work_order_id=order.pk, at=now, by=BY)
    sweep(now=at("2026-11-25", 11))
    sweep(now=at("2026-11-25", 12))
    assert [message.subject for message in mail.outbox] == ["Your cylinder is ready"]
    assert parseaddr(mail.outbox[0].to[0])[1] == owner.email
    assert "Ready for you" in words(client, path_in_the_last_message("/s/"), at("2026-11-25", 13))

    # Collected: the dates go into a calendar.
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=at("2026-11-25", 14), by=BY)
    assert "With you" in words(client, page, at("2026-11-25", 15))
    with time_machine.travel(at("2026-11-25", 15), tick=False):
        feed = vobject.readOne(client.get(f"{page}/calendar.ics").content.decode())
    assert dt.date(2031, 11, 1) in [event.dtstart.value for event in feed.vevent_list]

    # The fill station scans the tag and learns what it needs, and no more.
    text = words(client, f"/t/{tag.code}", at("2027-01-10"))
    assert "IN DATE" in text
    assert owner.name not in text

    # The visual inspection comes near: one reminder, and its link opens.
    for day in range(1, 5):
        sweep(now=at(dt.date(2027, 10, day)))
    assert [message.subject for message in mail.outbox[1:]] == ["Your cylinder: what is due"]
    fresh = path_in_the_last_message("/s/")
    assert "By the end of November 2027" in words(client, fresh, at("2027-10-05"))

    # One tap ends the reminders; only a tap, not a look.
    stop = path_in_the_last_message("/u/")
    words(client, stop, at("2027-10-05"))
    assert sweep(now=at("2027-10-31")).messages == 1
    with time_machine.travel(at("2027-11-01"), tick=False):
        client.post(stop, {"List-Unsubscribe": "One-Click"})
    assert sweep(now=at("2027-11-23")).messages == 0

    # Sold: every link of the seller ends, the buyer is told from then on.
    buyer = makers.make_customer("Nell Drake")
    now = at("2027-11-24")
    links.change_owner(cylinder_id=order.cylinder_id, owner_id=buyer.pk, at=now, by=BY)
    for path in (page, fresh, f"{page}/calendar.ics"):
        assert "It opened the story of a cylinder once" in words(client, path, now, status=410)
    assert sweep(now=at("2027-11-30")).messages == 1
    assert mail.outbox[-1].to == [buyer.email]
    assert verify().ok
