"""Forty-two things that happen to a secret link, each with what comes of it.

The demands come from the W3C TAG's finding on capability URLs (2014) and OWASP ASVS 5.0.0 (V3.4,
V7, V11.5.1, V14.3); which case is tried is the house's own choice.
"""

import datetime as dt
import logging
import re
import secrets
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
import time_machine
from django.contrib.auth.models import User
from django.core.cache import cache
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from api import declining, keys, links, logs
from api.backups import since
from api.models import StatusLink
from api.pages.status import spread
from cylinders.models import Customer, Cylinder, Declined, MessageKind, Notice
from cylinders.models.history import ServiceEvent
from cylinders.operations import condemnation, privacy
from labels.operations import binding
from labels.operations.binding import Thing
from tests import makers
from tests.api.pages.status.cast import AT, BY, HOST, link_to, open_shop

pytestmark = pytest.mark.django_db
SECOND = dt.timedelta(seconds=1)
STATIC = Path(__file__).resolve().parents[4] / "api" / "pages" / "static"


class Case:
    """A link of a cylinder, and somebody who opens addresses."""

    def __init__(self) -> None:
        open_shop()
        self.order = makers.receive()
        self.cylinder: int = self.order.cylinder_id
        issued = link_to(self.order)
        self.token, self.link = issued.token, issued.link
        self.client = Client()

    def get(self, end: str, **more: Any) -> Any:
        return self.client.get(f"/s/{end}", **more)

    def answers(self, end: str) -> int:
        return int(self.get(end).status_code)

    @property
    def opens(self) -> int:
        """The status of the page behind the link as it was given."""
        return self.answers(self.token)

    def state(self) -> tuple[int, ...]:
        """What a look must not change."""
        tables = (ServiceEvent, StatusLink, Declined, Notice, Customer)
        return tuple(table.objects.count() for table in tables)


@pytest.fixture
def case() -> Iterator[Case]:
    cache.clear()
    with time_machine.travel(AT, tick=False):
        yield Case()


def missing_and_empty(case: Case) -> None:
    assert case.client.get("/s").status_code == 404
    assert {case.answers(""), case.answers("%20"), case.answers("/")} == {404}


def one_character_changed_at_each_place(case: Case) -> None:
    for place, symbol in enumerate(case.token):
        other = "a" if symbol != "a" else "b"
        assert case.answers(case.token[:place] + other + case.token[place + 1 :]) in (404, 429)
    assert case.opens == 200


def truncated_or_one_more(case: Case) -> None:
    assert {case.answers(end) for end in (case.token[:-1], case.token + "a", case.token[:8])} == {
        404
    }


def other_case(case: Case) -> None:
    assert case.answers(case.token.upper()) == 200


def encoded(case: Case) -> None:
    once = "".join(f"%{ord(symbol):02X}" for symbol in case.token)
    assert case.answers(once) == 200  # the same address, RFC 3986 section 2.3
    assert case.answers(once.replace("%", "%25")) == 404
    assert case.answers(case.token + "%00") == 404


def what_mail_programs_leave_at_the_end(case: Case) -> None:
    assert {case.answers(case.token + quote(end)) for end in (".", ",", ")", ">", "]", "...")} == {
        200
    }


def soft_wrapped(case: Case) -> None:
    for wrap in ("=\n", " ", "\n", "\t"):
        assert case.answers(quote(case.token[:16] + wrap + case.token[16:])) == 404


def signs_of_base64(case: Case) -> None:
    for end in (case.token + "=", case.token.replace(case.token[5], "_", 1), case.token + "+"):
        assert case.answers(end) == 404


def expired_by_a_second_and_valid_by_one(case: Case) -> None:
    for shift, status in ((-SECOND, 200), (dt.timedelta(0), 410), (SECOND, 410)):
        with time_machine.travel(case.link.expires_at + shift, tick=False):
            assert case.opens == status


def revoked_elsewhere(case: Case) -> None:
    assert case.opens == 200
    links.revoke(link_id=case.link.pk, reason="lost phone", at=AT, by=BY)
    assert case.opens == 410


def revoked_while_the_page_is_open(case: Case) -> None:
    links.revoke(link_id=case.link.pk, reason="lost phone", at=AT, by=BY)
    assert case.client.post(f"/s/{case.token}").status_code == 405  # there is nothing to send
    assert case.answers(f"{case.token}/calendar.ics") == 410


def with_the_number_of_another_cylinder(case: Case) -> None:
    stranger = makers.receive(makers.make_customer("Una Vell"), serial="OTHER1")
    mine = makers.receive(Customer.objects.get(pk=case.link.customer_id), serial="MINE2")
    assert case.answers(f"{case.token}/cylinders/{stranger.cylinder_id}") == 404
    assert case.answers(f"{case.token}/cylinders/999999") == 404
    assert case.answers(f"{case.token}/cylinders/{mine.cylinder_id}") == 200


def on_the_host_of_another_shop(case: Case) -> None:
    logging.getLogger("django.security.DisallowedHost").setLevel(logging.CRITICAL)
    assert case.get(case.token, HTTP_HOST="other.example").status_code == 400


def a_key_for_a_link_and_a_link_for_a_key(case: Case) -> None:
    key = keys.issue(lab_id=makers.make_lab().pk, at=AT)
    assert case.answers(key.text) in (404, 429)
    answer = case.client.get("/api/v1/events", headers={"Authorization": f"Bearer {case.token}"})
    assert answer.status_code == 401


def staff_see_what_the_owner_sees(case: Case) -> None:
    stranger = case.get(case.token).content.decode()
    case.client.force_login(User.objects.create_superuser("boss", password="wet-gloves-77"))
    nonce = re.compile(r'nonce="[^"]+"')
    assert nonce.sub("", case.get(case.token).content.decode()) == nonce.sub("", stranger)


def after_the_owner_changed(case: Case) -> None:
    new = makers.make_customer("Una Vell")
    links.change_owner(cylinder_id=case.cylinder, owner_id=new.pk, at=AT, by=BY)
    assert case.opens == 410


def after_the_person_was_erased(case: Case) -> None:
    number = case.link.customer_id
    Cylinder.objects.get(pk=case.cylinder).work_orders.update(closed_at=AT)
    privacy.erase(customer_id=number, reason="asked for it", at=AT, by=BY)
    assert case.opens == 410


def after_it_was_condemned_or_given_another_tag(case: Case) -> None:
    first = binding.issue(thing=Thing.cylinder(case.order.cylinder), host=HOST, at=AT, by=BY)
    condemnation.condemn(
        work_order_id=case.order.pk, reason="a crack", marked="CONDEMNED", at=AT, by=BY
    )
    page = case.get(case.token)
    assert page.status_code == 200
    assert "not to be filled" in page.content.decode()
    assert first.code not in page.request["PATH_INFO"]


def verbs(case: Case) -> None:
    head = case.client.head(f"/s/{case.token}")
    assert (head.status_code, head.content) == (200, b"")
    for verb in ("options", "post", "put", "patch", "delete", "trace"):
        assert getattr(case.client, verb)(f"/s/{case.token}").status_code == 405


def fetched_by_a_mail_scanner(case: Case) -> None:
    stop = declining.address_of(customer_id=case.link.customer_id, kind=MessageKind.REMINDERS)
    before = case.state()
    for _ in range(5):
        case.get(case.token, headers={"User-Agent": "mail-scanner"})
        case.client.get("/u/" + stop.rpartition("/u/")[2])
    assert case.state() == before


def shown_in_a_chat(case: Case) -> None:
    page = case.get(case.token, headers={"User-Agent": "chat-preview-bot"})
    assert page.headers["X-Robots-Tag"] == "noindex, nofollow"
    assert "og:" not in page.content.decode()


def opened_in_fifty_places(case: Case) -> None:
    for number in range(50):
        assert case.get(case.token, REMOTE_ADDR=f"198.18.{number}.7").status_code == 200
    assert spread.went_round(case.link.pk)
    case.client.force_login(User.objects.create_superuser("boss", password="wet-gloves-77"))
    told = case.client.get(f"/bench/cylinders/{case.cylinder}/links/").content.decode()
    assert "went round" in told


def guessed(case: Case) -> None:
    tries = [case.answers(secrets.token_hex(16)) for _ in range(60)]
    assert set(tries[:30]) == {404}
    assert set(tries[31:]) == {429}
    assert case.opens == 200  # a true link opens all the same


def a_known_beginning(case: Case) -> None:
    """A token is looked up by its digest alone, so its beginning is of no use to a clock."""
    asked = []
    for token in (case.token[:-1] + ("a" if case.token[-1] != "a" else "b"), "q" * 32):
        with CaptureQueriesContext(connection) as queries:
            links.open_link(token, at=AT)
        asked.append([query["sql"].partition("WHERE")[0] for query in queries])
    assert asked[0] == asked[1]
    assert len(asked[0]) == 1


def sent_on_in_a_referrer(case: Case) -> None:
    page = case.get(case.token)
    assert page.headers["Referrer-Policy"] == "no-referrer"
    assert not re.search(r'(?:src|action)="(?:https?:)?//', page.content.decode())


def written_into_a_log(case: Case) -> None:
    lines: list[str] = []

    class Keep(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            lines.append(logs.JsonLines().format(record))
            lines.append(logs.OneLine().format(record))

    handler = Keep()
    logging.getLogger().addHandler(handler)
    try:
        assert case.opens == 200
        case.get(f"{case.token}/calendar.ics")
        try:
            int(f"/s/{case.token}")
        except ValueError:
            logging.getLogger("api").exception("at /s/%s", case.token)
    finally:
        logging.getLogger().removeHandler(handler)
    assert lines
    assert case.token not in "".join(lines)


def left_on_the_device(case: Case) -> None:
    page = case.get(case.token)
    assert "no-store" in page.headers["Cache-Control"]
    assert not page.cookies


def kept_by_a_proxy(case: Case) -> None:
    page = case.get(case.token)
    assert page.headers["Cache-Control"] == "private, no-store"
    assert "Cookie" in page.headers["Vary"]


def kept_by_a_service_worker(case: Case) -> None:
    for path in STATIC.rglob("*.js"):
        text = path.read_text()
        if "caches." in text or "serviceWorker" in text:
            assert "/s/" not in text, path
    page = case.get(case.token).content.decode()
    assert "serviceWorker" not in page


def framed_by_another_site(case: Case) -> None:
    page = case.get(case.token)
    assert page.headers["X-Frame-Options"] == "DENY"
    assert "frame-ancestors 'none'" in page.headers["Content-Security-Policy"]


def asked_for_with_a_forged_host(case: Case) -> None:
    logging.getLogger("django.security.DisallowedHost").setLevel(logging.CRITICAL)
    assert case.get(case.token, HTTP_HOST="evil.example").status_code == 400
    assert links.address_of(case.token).startswith("http://127.0.0.1")


def asked_for_with_a_forged_forwarded_host(case: Case) -> None:
    page = case.get(case.token, HTTP_X_FORWARDED_HOST="evil.example")
    assert page.status_code == 200
    assert "evil.example" not in page.content.decode() + str(page.headers)


def with_questions_behind_it(case: Case) -> None:
    for query in ("language=../../etc", "next=//evil.example", "units=<script>", "x=%00"):
        page = case.get(f"{case.token}?{query}")
        assert page.status_code == 200
        assert "Location" not in page.headers
        assert "evil" not in page.content.decode()


def of_ten_thousand_characters(case: Case) -> None:
    assert case.answers("q" * 10_000) == 404


def with_another_token_in_its_body(case: Case) -> None:
    other = link_to(makers.receive(makers.make_customer("Una Vell"), serial="OTHER1")).token
    assert case.client.post(f"/s/{case.token}", {"token": other}).status_code == 405
    assert "OTHER1" not in case.get(f"{case.token}?token={other}").content.decode()


def named_twice(case: Case) -> None:
    assert case.answers(f"{'q' * 32}?t={case.token}&t={case.token}") == 404


def words_of_other_languages(case: Case) -> None:
    for text in ("' OR 1=1--", "{{7*7}}", "%s%n", "{0.__class__}", "${7*7}", "../../etc/passwd"):
        page = case.get(quote(text, safe=""))
        assert page.status_code in (404, 429)
        assert "49" not in re.sub(r'nonce="[^"]+"|<style.*?</style>', "", page.content.decode())


def declined_twice(case: Case) -> None:
    stop = declining.address_of(customer_id=case.link.customer_id, kind=MessageKind.REMINDERS)
    path = "/u/" + stop.rpartition("/u/")[2]
    asks = case.client.get(path).content.decode()
    assert "<form" in asks
    assert not Declined.objects.exists()
    for _ in range(2):
        assert case.client.post(path, {"List-Unsubscribe": "One-Click"}).status_code == 200
    assert Declined.objects.count() == 1


def typed_from_paper(case: Case) -> None:
    by_hand = case.token.replace("0", "O").replace("1", "I").upper()
    grouped = "-".join(by_hand[n : n + 4] for n in range(0, 32, 4))
    assert case.answers(grouped) == 200
    assert not set(case.token) & set("ilou")


def from_a_copy_that_was_restored(case: Case) -> None:
    links.revoke(link_id=case.link.pk, reason="lost phone", at=AT, by=BY)
    known = since.collect()
    StatusLink.objects.filter(pk=case.link.pk).update(revoked_at=None)  # the older copy
    assert case.opens == 200
    since.apply(known, at=AT)
    assert case.opens == 410


def from_another_installation(case: Case) -> None:
    StatusLink.objects.all().delete()  # its database is not this one
    assert case.opens == 404


TABLE: tuple[tuple[str, Callable[[Case], None]], ...] = (
    ("1 and 2", missing_and_empty),
    ("3", one_character_changed_at_each_place),
    ("4", truncated_or_one_more),
    ("5", other_case),
    ("6", encoded),
    ("7", what_mail_programs_leave_at_the_end),
    ("8", soft_wrapped),
    ("9", signs_of_base64),
    ("10", expired_by_a_second_and_valid_by_one),
    ("11", revoked_elsewhere),
    ("12", revoked_while_the_page_is_open),
    ("13", with_the_number_of_another_cylinder),
    ("14", on_the_host_of_another_shop),
    ("15", a_key_for_a_link_and_a_link_for_a_key),
    ("16", staff_see_what_the_owner_sees),
    ("17", after_the_owner_changed),
    ("18", after_the_person_was_erased),
    ("19", after_it_was_condemned_or_given_another_tag),
    ("20", verbs),
    ("21", fetched_by_a_mail_scanner),
    ("22", shown_in_a_chat),
    ("23", opened_in_fifty_places),
    ("24", guessed),
    ("25", a_known_beginning),
    ("26", sent_on_in_a_referrer),
    ("27", written_into_a_log),
    ("28", left_on_the_device),
    ("29", kept_by_a_proxy),
    ("30", kept_by_a_service_worker),
    ("31", framed_by_another_site),
    ("32", asked_for_with_a_forged_host),
    ("33", asked_for_with_a_forged_forwarded_host),
    ("34", with_questions_behind_it),
    ("35", of_ten_thousand_characters),
    ("36", with_another_token_in_its_body),
    ("37", named_twice),
    ("38", words_of_other_languages),
    ("39", declined_twice),
    ("40", typed_from_paper),
    ("41", from_a_copy_that_was_restored),
    ("42", from_another_installation),
)


@pytest.mark.parametrize(
    "happens", [row[1] for row in TABLE], ids=[f"{n} {f.__name__}" for n, f in TABLE]
)
@pytest.mark.sampled(of=4)
def test_what_happens_to_a_link(happens: Callable[[Case], None], case: Case) -> None:
    happens(case)
