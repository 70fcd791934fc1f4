"""A whole journey with marked secrets and people: no line of the log holds any of them.

Source: OWASP ASVS 5.0.0, V16.2.5 (no secrets in logs), V16.4.1 (no line that a stranger made),
V14.2.1 (no secret in an address but the reasoned one, which is masked).
"""

import io
import json
import logging
from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client
from pytest_django import Settings

from api import declining, keys, links, logs
from api.pages.status import page as status_page
from api.webhooks import managing, signing
from cylinders.models import Customer, Lab, MessageKind
from cylinders.operations.reminders import sweep
from tests import makers
from tests.api.pages.status import cast
from tests.api.v1.lab import LabClient, body, order_at
from tests.cylinders.operations.reminders.cast import at_home

pytestmark = pytest.mark.django_db


@dataclass
class Book:
    """Everything that was logged, in both forms, at the most talkative level."""

    as_json: io.StringIO = field(default_factory=io.StringIO)
    as_text: io.StringIO = field(default_factory=io.StringIO)

    def found(self, secret: str) -> list[str]:
        lines = [*self.as_json.getvalue().splitlines(), *self.as_text.getvalue().splitlines()]
        return [line[:300] for line in lines if secret in line]


@pytest.fixture
def book() -> Iterator[Book]:
    made, root = Book(), logging.getLogger()
    level, handlers = root.level, []
    for stream, form in ((made.as_json, logs.JsonLines()), (made.as_text, logs.OneLine())):
        handler = logging.StreamHandler(stream)
        handler.setFormatter(form)
        root.addHandler(handler)
        handlers.append(handler)
    root.setLevel(logging.DEBUG)
    cache.clear()
    with time_machine.travel(makers.NOON, tick=False):
        yield made
    root.setLevel(level)
    for handler in handlers:
        root.removeHandler(handler)


def the_technician(secrets: dict[str, str], owner: Customer) -> None:
    tessa = Client(headers={"user-agent": 'x\r\n{"level": "CRITICAL"}'})
    tessa.get("/bench/")
    for password in ("Wrong-pass-canary1", "wet-gloves-7"):
        tessa.post("/bench/login/", {"username": "tessa", "password": password})
    secrets |= {"wrong password": "Wrong-pass-canary1", "password": "wet-gloves-7"}
    secrets["session"] = tessa.cookies["session"].value
    sent = {"do": "pin", "once": "p", "pin": "918273", "password": "wet-gloves-7"}
    tessa.post("/bench/me/", sent)
    secrets["pin"] = "918273"
    tessa.get(f"/bench/customers/{owner.pk}/")
    tessa.get(f"/bench/customers/{owner.pk}/everything.json")
    tessa.get("/bench/find/", {"q": cast.CANARY.name})
    tessa.get("/bench/intake/", {"stamp": "STAMPCANARY"})
    new = {"do": "address", "once": "a", "name": "Nuala Newcanary", "email": "nuala@example.org"}
    tessa.post(f"/bench/customers/{owner.pk}/", new)
    secrets |= {"new name": "Nuala Newcanary", "new address": "nuala@example.org"}
    secrets |= {"name": cast.CANARY.name, "mail": cast.CANARY.email, "phone": cast.CANARY.phone}


def the_lab(secrets: dict[str, str], lab: Lab) -> None:
    key = keys.issue(lab_id=lab.pk, at=makers.NOON).text
    program = LabClient(lab, key)
    program.post(body(reference="NEW-1", operator="Operator Canary"))
    program.post(b'{"operator": "Operator Canary", ')
    program.get(f"/api/v1/cylinders?key={key}")
    wrong = f"{key[:9]}{'B' * 43}"
    program.send("GET", "/api/v1/cylinders", authorization=f"Bearer {wrong}")
    browser = Client()
    browser.post("/lab/sign-in/", {"key": wrong})
    browser.post("/lab/sign-in/", {"key": key})
    browser.get("/lab/")
    _webhook, secret = managing.register(
        lab_id=lab.pk, url="https://hook.example.test/in", types=(), at=makers.NOON
    )
    secrets |= {"key": key.partition(".")[2], "wrong key": wrong.partition(".")[2]}
    secrets |= {"hook": secret, "hook's bytes": signing.shown(secret.encode()), "op": "Canary"}


def the_customer(secrets: dict[str, str], owner: Customer, settings: Settings) -> None:
    order = cast.put_together(owner)
    link = links.issue(cylinder_id=order.cylinder_id, at=makers.NOON, by=cast.BY)
    stranger = Client(headers={"referer": f"https://shop.example.test/s/{link.token}"})
    for path in ("", "/calendar.ics", "/certificates/1", "/certificates/1.pdf", "/nothing"):
        stranger.get(f"/s/{link.token}{path}")
    stranger.get(f"/s/{link.token.upper()}")
    stranger.get("/verify", {"t": link.token})
    stranger.post(f"/s/{link.token}")
    address = declining.address_of(customer_id=owner.pk, kind=MessageKind.REMINDERS)
    signature, value = address.split("/")[-2:]
    stranger.get(f"/u/{signature}/{value}")
    stranger.post(f"/u/{signature}/{value}")
    tag = cast.tag_of(order)
    finder = {"text": "Found by Canaryfinder", "reply_to": "finder@example.org"}
    stranger.post(f"/found/{tag.code}", finder)
    secrets |= {"link": link.token, "LINK": link.token.upper(), "decline": signature}
    secrets |= {"finder": "Canaryfinder", "finder's mail": "finder@example.org"}


def something_breaks(
    secrets: dict[str, str], owner: Customer, monkeypatch: pytest.MonkeyPatch
) -> None:
    link = links.issue(cylinder_id=owner.cylinders.earliest("pk").pk, at=makers.NOON, by=cast.BY)

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError(f"no story at /s/{link.token}")

    monkeypatch.setattr(status_page, "story_of", broken)
    client = Client(raise_request_exception=False)
    answer = client.get(f"/s/{link.token}")
    assert answer.status_code == 500
    page = answer.content.decode()
    assert "RuntimeError" not in page
    assert "Traceback" not in page
    assert link.token not in page
    secrets["broken link"] = link.token


def test_no_line_of_the_log_holds_a_secret_or_a_person(
    book: Book, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    secrets: dict[str, str] = {"settings": settings.SECRET_KEY}
    cast.open_shop()
    makers.technician_one().set_password("wet-gloves-7")
    tessa = makers.owner_one()
    tessa.set_password("wet-gloves-7")
    tessa.save()
    owner = cast.canary()
    the_technician(secrets, owner)
    the_customer(secrets, owner, settings)
    lab = Lab.objects.earliest("pk")
    order_at(lab, "QQ9")
    the_lab(secrets, lab)
    at_home(owner, serial="QQ8")
    sweep(now=makers.NOON)
    something_breaks(secrets, owner, monkeypatch)
    told = {name: book.found(secret) for name, secret in secrets.items() if book.found(secret)}
    assert told == {}
    lines = [json.loads(line) for line in book.as_json.getvalue().splitlines()]
    access = [line for line in lines if line["logger"] == "api.access"]
    assert len(access) > 25
    assert all(line["request_id"] and line["status"] and "ms" in line for line in access)
    assert any("/s/****" in line["msg"] for line in access)
    assert any("RuntimeError" in line.get("trace", "") for line in lines)
    assert not [line for line in lines if line["level"] == "CRITICAL"]
