"""The page behind a tag is kept under what it follows from: fast, and never old."""

import datetime as dt
from collections.abc import Iterator
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core.cache import caches
from django.core.cache.backends.locmem import LocMemCache
from django.db import OperationalError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from api.pages.status import kept
from cylinders.models import Cylinder, OwnerRow, Shop, WorkOrder
from cylinders.operations import condemnation, correction
from labels import glance
from labels.codes import new_code
from labels.models import Tag
from labels.operations import binding, minting
from labels.operations.binding import Thing
from tests import makers
from tests.api.pages.status.cast import BY, HOST, open_shop, tag_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    caches["pages"].clear()
    open_shop()
    with time_machine.travel(makers.NOON, tick=False):
        yield


def body(client: Client, tag: Tag, **headers: str) -> str:
    return client.get(f"/t/{tag.code}", headers=headers).content.decode()


def queries_of(client: Client, tag: Tag) -> int:
    with CaptureQueriesContext(connection) as queries:
        client.get(f"/t/{tag.code}")
    return len(queries)


def fill_up(order: WorkOrder) -> None:
    """Many parts, and many events."""
    for number in range(5):
        correction.correct_marking(
            cylinder_id=order.cylinder_id,
            field="manufacturer_mark",
            becomes=f"M99{number}",
            reason="read again",
            at=makers.NOON,
            by=BY,
        )
    makers.take_down(order)


@pytest.mark.both_engines
def test_a_look_costs_one_query_and_the_first_one_two(client: Client) -> None:
    bare, full = makers.receive(), makers.receive(serial="KX40418")
    fill_up(full)
    tags = [tag_of(bare), tag_of(full)]
    body(client, tag_of(makers.receive(serial="KX40419")))  # a connection prepares only once
    first = [queries_of(client, tag) for tag in tags]
    again = [queries_of(client, tag) for tag in tags]
    assert first == [2, 2]
    assert again == [1, 1]


@pytest.mark.both_engines
def test_an_event_takes_the_kept_page_away(client: Client) -> None:
    order = makers.receive()
    tag = tag_of(order)
    assert "IN DATE" in body(client, tag)
    condemnation.condemn(
        work_order_id=order.pk,
        reason="crack at the neck",
        marked="X over the pressure",
        at=makers.NOON,
        by=BY,
    )
    assert "DO NOT FILL" in body(client, tag)


def test_each_event_gives_another_glance(client: Client) -> None:
    order = makers.receive()
    tag = tag_of(order)
    before = glance.at(tag.code)
    fill_up(order)
    assert glance.at(tag.code) != before


def test_work_that_was_rolled_back_leaves_no_page_behind(client: Client) -> None:
    order = makers.receive()
    tag = tag_of(order)
    with transaction.atomic():
        Cylinder.objects.filter(pk=order.cylinder_id).update(life="condemned")
        assert "DO NOT FILL" in body(client, tag)
        transaction.set_rollback(True)
    assert "IN DATE" in body(client, tag)


def test_a_row_that_was_changed_without_an_event_shows_at_once(client: Client) -> None:
    order = makers.receive()
    tag = tag_of(order)
    assert "IN DATE" in body(client, tag)
    Cylinder.objects.filter(pk=order.cylinder_id).update(requalified="2019-01")
    assert "OUT OF DATE" in body(client, tag)


def test_a_copy_lives_no_longer_than_its_day_and_the_next_day_is_judged_anew(
    client: Client,
) -> None:
    tag = tag_of(makers.receive())  # good through November 2026
    zone = ZoneInfo("America/New_York")
    late = dt.datetime(2026, 11, 30, 23, 59, 30, tzinfo=zone)
    with time_machine.travel(late, tick=False):
        response = client.get(f"/t/{tag.code}")
    assert "IN DATE" in response.content.decode()
    assert response.headers["Cache-Control"] == "public, max-age=30"
    with time_machine.travel(late + dt.timedelta(seconds=31), tick=False):
        assert "DO NOT FILL" in body(client, tag)


def test_the_shop_s_own_figures_and_address_count_at_once(client: Client) -> None:
    tag = tag_of(makers.receive())
    body(client, tag)
    Shop.objects.update(phone="555-0111")
    assert "555-0111" in body(client, tag)
    OwnerRow.objects.create(
        subject=OwnerRow.Subject.COUNTRY,
        name="US",
        since=dt.date(2020, 1, 1),
        cites="Order 12",
        requalification_months=12,
        reason="order",
        entered_at=makers.NOON,
        entered_by=makers.technician_one(),
    )
    assert "DO NOT FILL" in body(client, tag)


def test_every_language_and_every_unit_has_its_own(client: Client) -> None:
    tag = tag_of(makers.receive())
    english = body(client, tag)
    french = body(client, tag, accept_language="fr")
    assert '<html lang="fr">' in french
    assert body(client, tag) == english


def test_what_a_person_typed_is_escaped_on_the_kept_page_too(client: Client) -> None:
    evil = "<script>alert(1)</script>"
    order = makers.receive()
    tag = tag_of(order)
    Cylinder.objects.filter(pk=order.cylinder_id).update(material=evil, serial=f'"{evil}')
    Shop.objects.update(name=f"{evil}&Co", phone='"><b>')
    for _turn in ("made", "kept"):
        text = body(client, tag)
        assert "<script>" not in text
        assert 'tel:"><b>' not in text
        assert "&lt;script&gt;alert(1)&lt;/script&gt;&amp;Co" in text
        assert "&lt;script&gt;alert(1)&lt;/script&gt;</dd>" in text


def test_a_page_that_a_phone_has_is_not_sent_again(client: Client) -> None:
    order = makers.receive()
    tag = tag_of(order)
    first = client.get(f"/t/{tag.code}")
    held = {"if_none_match": first.headers["ETag"]}
    assert client.get(f"/t/{tag.code}", headers=held).status_code == 304
    Cylinder.objects.filter(pk=order.cylinder_id).update(requalified="2019-01")
    assert client.get(f"/t/{tag.code}", headers=held).status_code == 200


def test_an_unknown_code_is_not_asked_twice_and_a_minted_one_soon_counts(client: Client) -> None:
    path = f"/t/{new_code(lambda: 4_242)}"
    assert client.get(path).status_code == 404
    with CaptureQueriesContext(connection) as queries:
        again = client.get(path)
    assert (again.status_code, len(queries)) == (404, 0)
    assert "No tag of this house" in again.content.decode()
    minting.mint(count=1, host=HOST, at=makers.NOON, draw=lambda: 4_242)
    caches["pages"].clear()  # as ten seconds later
    assert "NOT IN USE" in client.get(path).content.decode()


def test_a_cache_that_is_down_costs_time_and_no_page(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def down(*_: object, **__: object) -> None:
        raise ConnectionError("nobody answers")

    for name in ("get", "set"):
        monkeypatch.setattr(LocMemCache, name, down)
    tag = tag_of(makers.receive())
    assert "IN DATE" in body(client, tag)
    assert client.get(f"/t/{new_code()}").status_code == 404


def test_a_page_of_a_secret_link_is_kept_by_nobody(client: Client) -> None:
    order = makers.receive()
    binding.issue(thing=Thing.cylinder(order.cylinder), host=HOST, at=makers.NOON, by=BY)
    response = client.get("/s/" + "q" * 32)
    assert response.headers["Cache-Control"] == "private, no-store"
    assert kept.look(kept.name_of("anything")) is None


@pytest.mark.both_engines
@pytest.mark.django_db(transaction=True)
def test_a_connection_that_broke_meanwhile_is_asked_again(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    tag = tag_of(makers.receive())
    asked: list[bool] = []
    real = glance._row

    def first_broken(code: str, *, prepared: bool) -> object:
        asked.append(prepared)
        if len(asked) == 1:
            raise OperationalError("the connection is closed")
        return real(code, prepared=prepared)

    monkeypatch.setattr(glance, "_row", first_broken)
    assert "IN DATE" in body(client, tag)
    assert asked[1:] == [False]


def test_the_short_way_sends_what_the_long_way_sends(client: Client) -> None:
    tag = tag_of(makers.receive())
    for path in (f"/t/{tag.code}", f"/t/{new_code()}", "/t/%3Cb%3E"):
        short = client.get(path)
        client.cookies["session"] = "nobody"
        long = client.get(path)
        del client.cookies["session"]
        assert (short.status_code, short.content) == (long.status_code, long.content)
        differ = {"X-Request-Id", "Content-Security-Policy"}  # random in each answer
        names = set(short.headers) | set(long.headers)
        for name in names - differ:
            values = [set(one.headers.get(name, "").split(", ")) for one in (short, long)]
            assert values[0] == values[1], (path, name)
        assert "frame-ancestors 'none'" in short.headers["Content-Security-Policy"]
