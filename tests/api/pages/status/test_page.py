"""The owner's page: what it tells, what it never tells, and how it treats whoever has no link."""

import datetime as dt
import logging
import re
from collections.abc import Iterator

import pytest
import time_machine
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from api import links
from api.logs import masked
from api.models import StatusLink
from cylinders import history
from cylinders.facts import Actor
from cylinders.models import Cylinder, Notice
from cylinders.operations import condemnation, handover
from tests import makers
from tests.api.pages.status.cast import (
    CANARY,
    link_to,
    open_shop,
    put_together,
    tag_of,
)

pytestmark = pytest.mark.django_db

BY = Actor("staff", "1")


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    cache.clear()
    with time_machine.travel(makers.NOON, tick=False):
        yield


def seen(client: Client, token: str) -> str:
    response = client.get(f"/s/{token}")
    assert response.status_code == 200
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


def test_the_page_tells_where_it_is_what_was_measured_and_what_is_due(client: Client) -> None:
    open_shop()
    order = put_together()
    tag = tag_of(order)
    text = seen(client, link_to(order).token)
    assert "At the shop, put back together" in text
    assert "Passed its pressure test" in text
    assert "Taken off and tagged: valve V1, black boot" in text
    assert "Permanent expansion is 1.3 % of total, within the limit of 10 %." in text
    assert "By the end of November 2031" in text
    assert "49 CFR 180.209(a) Table 1" in text
    assert tag.code[:4] in text
    assert "Slack Water Divers" in text


def test_the_page_is_kept_out_of_caches_referrers_frames_and_search_engines(
    client: Client,
) -> None:
    token = link_to(put_together()).token
    for path in (f"/s/{token}", f"/s/{token}/calendar.ics", f"/s/{'a' * 32}"):
        headers = client.get(path).headers
        assert headers["Cache-Control"] == "private, no-store"
        assert headers["Referrer-Policy"] == "no-referrer"
        assert headers["X-Robots-Tag"] == "noindex, nofollow"
        assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
    assert "Set-Cookie" not in client.get(f"/s/{token}").headers
    robots = client.get("/robots.txt").content.decode()
    assert "Disallow: /s/" in robots
    assert token not in robots


def test_looking_changes_nothing_however_often(client: Client) -> None:
    token = link_to(put_together()).token
    before = (history.events_held(), list(StatusLink.objects.values()), Notice.objects.count())
    for _ in range(5):
        client.get(f"/s/{token}")
        client.head(f"/s/{token}")
        client.get(f"/s/{token}/calendar.ics")
    after = (history.events_held(), list(StatusLink.objects.values()), Notice.objects.count())
    assert before == after


@pytest.mark.parametrize("verb", ["post", "put", "patch", "delete", "trace", "options"])
def test_only_looking_is_offered(client: Client, verb: str) -> None:
    token = link_to(makers.receive()).token
    for path in (f"/s/{token}", f"/s/{token}/calendar.ics", "/robots.txt"):
        assert getattr(client, verb)(path).status_code == 405


def test_the_page_names_nobody_and_nobody_else_s_cylinder(client: Client) -> None:
    other = makers.receive(makers.make_customer("Una Vell"), serial="OTHER9911")
    token = link_to(put_together()).token
    page = client.get(f"/s/{token}").content.decode()
    for secret in (CANARY.name, CANARY.email, CANARY.phone, other.cylinder.serial, "op 4", "van 2"):
        assert secret not in page


def test_a_link_that_ended_is_gone_and_one_that_never_was_is_not_found(client: Client) -> None:
    open_shop()
    order = makers.receive()
    link = link_to(order)
    links.revoke(link_id=link.link.pk, reason="phone lost", at=makers.NOON, by=BY)
    gone = client.get(f"/s/{link.token}")
    assert gone.status_code == 410
    assert "KX40417" not in gone.content.decode()
    assert client.get(f"/s/{'q' * 32}").status_code == 404
    assert client.get("/s/").status_code == 404
    assert client.get("/s/%00").status_code == 404


def test_a_link_ends_with_its_last_second(client: Client) -> None:
    link = link_to(makers.receive())
    last = link.link.expires_at - dt.timedelta(seconds=1)
    with time_machine.travel(last, tick=False):
        assert client.get(f"/s/{link.token}").status_code == 200
    with time_machine.travel(link.link.expires_at, tick=False):
        assert client.get(f"/s/{link.token}").status_code == 410
        assert client.get(f"/s/{link.token}/calendar.ics").status_code == 410


def test_who_tries_tokens_is_slowed_down_and_who_has_one_is_not(client: Client) -> None:
    token = link_to(makers.receive()).token
    answers = [client.get(f"/s/{number:032d}").status_code for number in range(40)]
    assert set(answers[:25]) == {404}
    assert answers[-1] == 429
    assert client.get(f"/s/{token}").status_code == 200


def test_a_new_owner_sees_what_was_measured_but_not_the_visits_before(client: Client) -> None:
    order = put_together()
    new = makers.make_customer("Nell Drake")
    links.change_owner(cylinder_id=order.cylinder_id, owner_id=new.pk, at=makers.NOON, by=BY)
    text = seen(client, link_to(order).token)
    assert "Registered as yours" in text
    assert "Water jacket test" in text
    assert "Taken off and tagged" not in text


def test_a_condemned_cylinder_says_so_first_and_offers_no_fill(client: Client) -> None:
    order = makers.receive()
    condemnation.condemn(
        work_order_id=order.pk, reason="crack in the neck", marked="X by us", at=makers.NOON, by=BY
    )
    text = seen(client, link_to(order).token)
    assert "Condemned It may never be filled or used again." in text
    assert "crack in the neck" in text
    assert "At most" not in text
    assert "Nothing becomes due any more." in text
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=makers.NOON, by=BY)
    assert "With you, condemned" in seen(
        client, links.issue(cylinder_id=order.cylinder_id, at=makers.NOON, by=BY).token
    )


def test_words_that_people_typed_are_shown_as_text(client: Client) -> None:
    order = makers.receive(serial="<script>alert(1)</script>")
    condemnation.condemn(
        work_order_id=order.pk, reason="<img src=x>", marked="{{ 7*7 }}", at=makers.NOON, by=BY
    )
    page = client.get(f"/s/{link_to(order).token}").content.decode()
    assert "<script>alert(1)" not in page
    assert "<img src=x>" not in page
    assert "{{ 7*7 }}" in page


def test_a_forged_host_gets_into_no_address(client: Client) -> None:
    token = link_to(makers.receive()).token
    forged = client.get(f"/s/{token}", headers={"x-forwarded-host": "evil.example"})
    assert "evil.example" not in forged.content.decode()
    assert client.get(f"/s/{token}", headers={"host": "evil.example"}).status_code == 400


@pytest.mark.parametrize("query", ["?next=//evil.example", "?lang=../../x", "?t=a&t=b"])
def test_what_is_added_to_the_address_changes_nothing(client: Client, query: str) -> None:
    token = link_to(makers.receive()).token
    assert client.get(f"/s/{token}").content == client.get(f"/s/{token}{query}").content


def test_staff_see_the_same_page_and_no_more(client: Client) -> None:
    token = link_to(makers.receive()).token
    before = client.get(f"/s/{token}").content
    client.force_login(makers.make_technician())
    assert client.get(f"/s/{token}").content == before


def test_the_token_is_in_no_line_of_the_logs(
    client: Client, caplog: pytest.LogCaptureFixture
) -> None:
    token = link_to(makers.receive()).token
    caplog.set_level(logging.DEBUG)
    client.get(f"/s/{token}")
    client.get(f"/s/{token}/calendar.ics")
    client.get(f"/s/{token[:-1]}0x")
    client.post(f"/s/{token}")
    lines = [masked(record.getMessage()) for record in caplog.records]
    assert any("/s/****" in line for line in lines)
    assert not any(token[:20] in line for line in lines)


def test_the_page_asks_the_database_little(client: Client) -> None:
    token = link_to(put_together()).token
    with CaptureQueriesContext(connection) as queries:
        client.get(f"/s/{token}")
    assert len(queries) <= 16


def test_a_cylinder_with_nothing_known_still_has_a_page(client: Client) -> None:
    order = makers.receive()
    Cylinder.objects.filter(pk=order.cylinder_id).update(
        authority="",
        specification="",
        serial="",
        service_pressure="",
        first_test="",
        requalified="",
        last_visual="",
    )
    text = seen(client, link_to(order).token)
    assert "not known" in text
    assert "In date as recorded" not in text


def test_one_link_shows_every_cylinder_of_its_owner(client: Client) -> None:
    order = put_together()
    second = makers.receive(order.customer, serial="SECOND22", requalified="2021-08")
    token = link_to(order).token
    first_page = client.get(f"/s/{token}").content.decode()
    path = f"/s/{token}/cylinders/{second.cylinder_id}"
    assert path in first_page
    assert "SECOND22" in first_page
    other = first_page.partition("Your other cylinders")[2].partition("</ul>")[0]
    assert "Pressure test, ran out at the end of August 2026" in re.sub(r"<[^>]+>", "", other)
    page = client.get(path)
    assert page.status_code == 200
    assert page.headers["Cache-Control"] == "private, no-store"
    assert "SECOND22" in page.content.decode()
    assert f"/s/{token}/cylinders/{order.cylinder_id}" in page.content.decode()
    feed = client.get(f"/s/{token}/calendar.ics").content.decode()
    assert "SECOND22" in feed
    assert "KX40417" in feed


def test_a_cylinder_that_was_sold_is_no_longer_shown_by_the_seller_s_other_link(
    client: Client,
) -> None:
    order = put_together()
    second = makers.receive(order.customer, serial="SECOND22")
    token = link_to(order).token
    links.change_owner(
        cylinder_id=second.cylinder_id,
        owner_id=makers.make_customer("Una Vell").pk,
        at=makers.NOON,
        by=BY,
    )
    assert client.get(f"/s/{token}").status_code == 200
    assert "SECOND22" not in client.get(f"/s/{token}").content.decode()
    assert client.get(f"/s/{token}/cylinders/{second.cylinder_id}").status_code == 404
    assert "SECOND22" not in client.get(f"/s/{token}/calendar.ics").content.decode()
