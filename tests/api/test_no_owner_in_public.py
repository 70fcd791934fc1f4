"""Thirty canaries are kept by the shop; no address on the whole map tells one to a stranger.

The demand is that of the OWASP API Security Top 10, 2023 (API1 and API3): whoever scans a cylinder
or tries addresses learns nothing about its owner.
"""

import itertools
import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from api import found, links
from api.pages.status import guesses
from cylinders.facts import Actor
from cylinders.models import Customer, Notice, Shop
from cylinders.operations import privacy
from cylinders.operations.reminders import plan
from tests import makers
from tests.api.pages.status.cast import AT, BY, ON, open_shop, put_together, tag_of

pytestmark = pytest.mark.django_db
OWNERS = 10
_PARAMETER = re.compile(r"<(?:(\w+):)?\w+>")


def canaries() -> list[Customer]:
    """Ten people; name, e-mail and telephone of each are words that stand nowhere else."""
    return [
        Customer.objects.create(
            name=f"Canaryname{n:02d}",
            email=f"canarymail{n:02d}@example.org",
            phone=f"555-01{n:02d}77",
            email_consent=True,
            text_consent=n % 2 == 0,
        )
        for n in range(OWNERS)
    ]


def routes(resolver: URLResolver, before: str = "") -> Iterator[str]:
    for one in resolver.url_patterns:
        if isinstance(one, URLPattern):
            yield before + str(one.pattern)
        else:
            yield from routes(one, before + str(one.pattern))


def addresses(route: str, words: list[str], numbers: int) -> Iterator[str]:
    """``route`` with every known word and number in its places."""
    kinds = _PARAMETER.findall(route)
    plain = re.sub(r"\(\?P<\w+>[^)]*\)|[\^$\\]|\(\?:[^)]*\)", "x", _PARAMETER.sub("{}", route))
    choices = [
        [str(n) for n in range(1, numbers + 1)] if kind == "int" else words for kind in kinds
    ]
    for chosen in itertools.product(*choices):
        yield "/" + plain.format(*(quote(word, safe="") for word in chosen))


def walk(client: Client, *, numbers: int, monkeypatch: pytest.MonkeyPatch) -> tuple[int, int]:
    """Ask for every address as a stranger; returns how many, and how many showed something."""
    monkeypatch.setattr(guesses, "too_many", lambda *_args, **_more: False)
    people = canaries()
    secrets = [word for one in people for word in (one.name, one.email, one.phone)]
    assert len(secrets) == 30
    order = put_together(people[0])
    orders = [order, *(makers.receive(one, serial=f"S{one.pk}") for one in people[1:])]
    tag = tag_of(order)
    for one in people:
        privacy.agree(customer_id=one.pk, given=True, wording=f"{one.name} agrees", at=AT, by=BY)
        privacy.note_look(customer_id=one.pk, where=f"page of {one.name}", at=AT, by=BY)
    found.write(code=tag.code, text="In the harbour.", reply_to=people[3].email, at=AT)
    plan(on=ON)
    token = links.issue(cylinder_id=order.cylinder_id, at=AT, by=Actor("staff", "1")).token
    words = [tag.code, token, "x", str(orders[1].cylinder_id)]
    asked = shown = 0
    for route in sorted(set(routes(get_resolver()))):
        for path in addresses(route, words, numbers):
            response: Any = client.get(path)
            body = b"".join(response.streaming_content) if response.streaming else response.content
            told = body.decode(errors="replace") + str(response.headers) + response.cookies.output()
            asked, shown = asked + 1, shown + (response.status_code == 200)
            for secret in secrets:
                assert secret not in told, (path, secret)
            assert response.status_code != 500, path  # /readyz says 503 where no worker is
    return asked, shown


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    cache.clear()
    open_shop()
    with time_machine.travel(makers.NOON, tick=False):
        yield


def test_no_address_tells_a_stranger_of_an_owner(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked, shown = walk(client, numbers=2, monkeypatch=monkeypatch)
    assert asked > 250
    assert shown > 12
    assert Shop.objects.count() == 1
    assert not Notice.objects.exclude(state="planned").exists()


@pytest.mark.long
def test_no_address_with_any_of_two_hundred_numbers_tells_a_stranger_of_an_owner(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked, shown = walk(client, numbers=200, monkeypatch=monkeypatch)
    print(f"\n{asked} addresses asked, {shown} of them showed something")  # noqa: T201 - figures
    assert shown > 12
