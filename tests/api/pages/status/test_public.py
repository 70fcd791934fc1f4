"""The page behind a tag: enough for a fill station, nothing for anybody else."""

import datetime as dt
from collections.abc import Iterator

import pytest
import time_machine
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cylinders.models import Cylinder, Notice, OwnerRow
from labels.operations import binding, minting
from labels.operations.binding import Thing
from tests import makers
from tests.api.pages.status.cast import (
    BY,
    CANARY,
    HOST,
    canary,
    link_to,
    open_shop,
    put_together,
    tag_of,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    cache.clear()
    open_shop()
    with time_machine.travel(makers.NOON, tick=False):
        yield


def page(client: Client, code: str, status: int = 200) -> str:
    response = client.get(f"/t/{code}")
    assert response.status_code == status
    return " ".join(response.content.decode().split())


def test_a_cylinder_in_date_shows_what_it_may_be_filled_to(client: Client) -> None:
    text = page(client, tag_of(put_together()).code)
    assert "IN DATE" in text
    assert "At most <b>3000 psi (206 bar)</b>" in text
    assert "Check the stamp before you fill." in text
    assert "DOT-3AL" in text
    assert "555-0100" in text
    assert "…0417" in text


@pytest.mark.parametrize(
    ("change", "word", "reason"),
    [
        ({"requalified": "2019-01"}, "DO NOT FILL", "Requalification: OUT OF DATE"),
        ({"life": "condemned"}, "DO NOT FILL", "CONDEMNED"),
        ({"life": "rejected"}, "DO NOT FILL", "Rejected"),
        ({"requalified": "", "first_test": ""}, "NOT KNOWN", "NOT KNOWN when it was last done"),
        ({"authority": ""}, "NOT KNOWN", "have a person read the stamp"),
        ({"use_gas": "nitrox", "oxygen_clean": False}, "DO NOT FILL", "Not oxygen-clean"),
    ],
)
def test_whatever_stands_in_the_way_is_said_and_nothing_may_be_filled(
    client: Client, change: dict[str, object], word: str, reason: str
) -> None:
    order = put_together()
    Cylinder.objects.filter(pk=order.cylinder_id).update(**change)
    text = page(client, tag_of(order).code)
    assert f"<strong>{word}</strong>" in text
    assert reason in text
    assert "At most" not in text
    assert "<b>Nothing</b>" in text


def test_what_the_shop_entered_for_its_country_counts_here_too(client: Client) -> None:
    order = put_together()
    tag, link = tag_of(order), link_to(order)
    Cylinder.objects.update(last_visual="2026-03", requalified="2026-03")
    assert "IN DATE" in page(client, tag.code)
    OwnerRow.objects.create(
        subject=OwnerRow.Subject.COUNTRY,
        name="US",
        visual_months=6,
        since=dt.date(2020, 1, 1),
        cites="a text of the country",
        reason="read",
        entered_at=makers.NOON,
        entered_by=makers.technician_one(),
    )
    assert "DO NOT FILL" in page(client, tag.code)
    told = client.get(f"/s/{link.token}").content.decode()
    assert "ran out at the end of September 2026" in told.replace("Ran", "ran")


def test_a_stranger_costs_the_database_little(client: Client) -> None:
    tag = tag_of(put_together())
    with CaptureQueriesContext(connection) as queries:
        client.get(f"/t/{tag.code}")
    assert len(queries) <= 5


def test_a_plus_is_promised_only_with_its_condition(client: Client) -> None:
    order = makers.receive(
        specification="3AA",
        material="steel",
        service_pressure="2400",
        requalified_symbol="+",
        requalified="2024-05",
        alloy="",
    )
    text = page(client, tag_of(order).code)
    assert "At most <b>2400 psi (165 bar)</b>" in text
    assert "Yes: 2640 psi (182 bar), only if the relief is a frangible disc" in text


def test_no_owners_data_is_in_any_anonymous_answer(client: Client) -> None:
    order = put_together(canary())
    other = makers.receive(makers.make_customer("Una Vell"), serial="OTHER9911")
    part = order.parts.first()
    assert part is not None
    tags = [
        tag_of(order),
        binding.issue(thing=Thing.bag(part), host=HOST, at=makers.NOON, by=BY),
        binding.issue(thing=Thing.teardown(order), host=HOST, at=makers.NOON, by=BY),
        binding.issue(thing=Thing.kit(order), host=HOST, at=makers.NOON, by=BY),
    ]
    link = link_to(order)
    paths = [f"/t/{tag.code}" for tag in tags]
    paths += ["/", "/t", "/t/", "/t/?code=x", "/t/NOTACODE", "/robots.txt", "/livez", "/readyz"]
    paths += [f"/s/{link.token}", f"/s/{link.token}/calendar.ics", f"/s/{'q' * 32}", "/u/x/y"]
    paths += ["/bench/", "/bench/login/", f"/bench/cylinders/{order.cylinder_id}/", "/api/v1/"]
    paths += [f"/api/v1/cylinders/{tags[0].code}", "/api/v1/schema", "/admin/login/"]
    secrets = [CANARY.name, *CANARY.name.split(), CANARY.email, CANARY.phone]
    told = 0
    for path in paths:
        response = client.get(path)
        body = response.content.decode()
        told += response.status_code == 200
        for secret in (*secrets, other.cylinder.serial):
            assert secret not in body, (path, secret)
            assert secret not in str(response.headers), (path, secret)
    assert told >= 10
    assert not Notice.objects.exists()


def test_a_copy_may_be_kept_for_a_minute_and_not_across_people(client: Client) -> None:
    response = client.get(f"/t/{tag_of(makers.receive()).code}")
    assert response.headers["Cache-Control"] == "public, max-age=60"
    assert "Cookie" in response.headers["Vary"]
    assert "Set-Cookie" not in response.headers
    unknown = client.get("/t/7K2M9QX4WBTCK")
    assert unknown.status_code == 404
    assert unknown.headers["Cache-Control"] == "public, max-age=10"


def test_a_part_a_blank_and_a_retired_tag_tell_nothing(client: Client) -> None:
    order = makers.receive()
    makers.take_down(order)
    part = order.parts.first()
    assert part is not None
    bag = binding.issue(thing=Thing.bag(part), host=HOST, at=makers.NOON, by=BY)
    assert "belongs to a cylinder in the shop" in page(client, bag.code)
    [blank] = minting.mint(count=1, host=HOST, at=makers.NOON)
    assert "NOT IN USE" in page(client, blank.code)
    tag = tag_of(order)
    binding.retire(code=tag.code, reason="torn by Quillon", at=makers.NOON, by=BY)
    text = page(client, tag.code, status=410)
    assert "NOT IN USE" in text
    assert "Quillon" not in text
    assert "KX40417" not in text


def test_it_never_asks_for_a_password_or_money(client: Client) -> None:
    order = makers.receive()
    for path in (f"/t/{tag_of(order).code}", "/t/NOTACODE", f"/s/{link_to(order).token}"):
        body = client.get(path).content.decode().lower()
        assert 'type="password"' not in body
        assert "card number" not in body


def test_foreign_text_is_shown_and_never_linked(client: Client) -> None:
    body = client.get("/t/", {"code": "https://evil.example/<b>x"}).content.decode()
    assert "evil.example" in body
    assert 'href="https://evil.example' not in body
    assert "<b>x" not in body
