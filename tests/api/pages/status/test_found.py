"""Whoever found a tagged thing writes to the shop; the shop answers for it once."""

import datetime as dt
from collections.abc import Iterator

import pytest
import time_machine
from django.core.cache import cache
from django.core.mail import EmailMessage
from django.test import Client

from api import arming, found, found_mail
from api.models import FoundMessage
from cylinders.rules.refusal import Refused
from labels.codes import show
from tests import makers
from tests.api.pages.status.cast import CANARY, canary, open_shop, tag_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    cache.clear()
    open_shop()
    with time_machine.travel(makers.NOON, tick=False):
        yield


def test_a_finder_writes_from_the_tags_page_and_learns_nobodys_name(client: Client) -> None:
    tag = tag_of(makers.receive(canary()))
    path = f"/found/{tag.code}"
    assert path in client.get(f"/t/{tag.code}").content.decode()
    form = client.get(path)
    assert form.status_code == 200
    assert form.headers["Cache-Control"] == "private, no-store"
    answer = client.post(path, {"text": "Under the pier.", "reply_to": "555-0190"})
    assert "The shop has your message" in answer.content.decode()
    for page in (form, answer):
        assert CANARY.name not in page.content.decode()
    kept = FoundMessage.objects.get()
    assert (kept.code, kept.text, kept.reply_to) == (tag.code, "Under the pier.", "555-0190")


def test_the_shop_sees_it_as_text_and_ticks_it_off(client: Client) -> None:
    tag = tag_of(makers.receive())
    client.post(f"/found/{tag.code}", {"text": "<script>alert(1)</script>"})
    client.force_login(makers.technician_one())
    page = client.get("/bench/messages/").content.decode()
    assert "From finders: 1" in page
    assert "&lt;script&gt;alert(1)" in page
    number = FoundMessage.objects.get().pk
    client.post("/bench/messages/", {"do": "found", "once": "abcdefgh12", "notice": number})
    assert "From finders" not in client.get("/bench/messages/").content.decode()


def test_it_is_asked_for_words_and_only_for_our_tags(client: Client) -> None:
    tag = tag_of(makers.receive())
    empty = client.post(f"/found/{tag.code}", {"text": "  "})
    assert empty.status_code == 422
    assert "Write where you found it" in empty.content.decode()
    assert client.post(f"/found/{tag.code}", {"text": "x" * 1_001}).status_code == 422
    assert client.get("/found/7K2M9QX4WBTCK").status_code == 404
    assert client.get("/found/NOT-A-CODE").status_code == 404
    assert Client(enforce_csrf_checks=True).post(f"/found/{tag.code}").status_code == 403
    assert not FoundMessage.objects.exists()


def test_one_address_writes_five_times_an_hour(client: Client) -> None:
    tag = tag_of(makers.receive())
    answers = [
        client.post(f"/found/{tag.code}", {"text": f"again {n}"}).status_code for n in range(7)
    ]
    assert answers == [200] * 5 + [429] * 2
    assert FoundMessage.objects.count() == 5


def test_a_shop_that_was_told_often_enough_is_left_in_peace() -> None:
    tag = tag_of(makers.receive())
    for number in range(10):
        found.write(code=tag.code, text=f"no. {number}", reply_to="", at=makers.NOON)
    with pytest.raises(Refused, match="has been told"):
        found.write(code=tag.code, text="once more", reply_to="", at=makers.NOON)
    with pytest.raises(Refused, match="none of our tags"):
        found.write(code="7K2M9QX4WBTCK", text="x", reply_to="", at=makers.NOON)
    found.handled(message_id=FoundMessage.objects.earliest("pk").pk, at=makers.NOON)
    found.write(code=tag.code, text="now", reply_to="", at=makers.NOON)
    with pytest.raises(Refused, match="no such message"):
        found.handled(message_id=0, at=makers.NOON)


def write(code: str, text: str = "Under the pier.", reply_to: str = "555-0190") -> None:
    found.write(code=code, text=text, reply_to=reply_to, at=makers.NOON)


def test_the_shop_is_told_by_mail_once(mailoutbox: list[EmailMessage]) -> None:
    code = tag_of(makers.receive(canary())).code
    write(code)
    assert found_mail.tell_the_shop(at=makers.NOON) == 1
    assert found_mail.tell_the_shop(at=makers.NOON + 2 * found_mail.APART) == 0
    (mail,) = mailoutbox
    assert mail.to == ["shop@example.org"]
    assert show(code) in mail.subject
    assert "> Under the pier." in mail.body
    assert "555-0190" in mail.body
    assert CANARY.name not in mail.body


def test_however_much_is_written_the_shop_gets_one_mail_in_ten_minutes(
    mailoutbox: list[EmailMessage],
) -> None:
    tags = [tag_of(makers.receive(makers.make_customer(f"O{n}"), serial=f"S{n}")) for n in range(5)]
    for minute in range(30):
        if minute < len(tags) * 5:
            write(tags[minute % len(tags)].code, text=f"number {minute}")
        found_mail.tell_the_shop(at=makers.NOON + dt.timedelta(minutes=minute))
    assert len(mailoutbox) == 3
    everything = "".join(str(mail.body) for mail in mailoutbox)
    assert all(everything.count(f"> number {n}\n") == 1 for n in range(21))


@pytest.mark.parametrize(
    "evil",
    [
        "x@example.org\r\nBcc: all@example.org",
        "a\nSubject: you won",
        "\r\n\r\nbody",
        "=?utf-8?q?x?=",
    ],
)
def test_what_a_finder_writes_becomes_no_header(evil: str, mailoutbox: list[EmailMessage]) -> None:
    write(tag_of(makers.receive()).code, text=evil, reply_to=evil)
    assert found_mail.tell_the_shop(at=makers.NOON) == 1
    (mail,) = mailoutbox
    message = mail.message()
    assert set(message.keys()) == {
        *("Content-Type", "MIME-Version", "Content-Transfer-Encoding", "Subject"),
        *("From", "To", "Date", "Message-ID"),
    }
    assert mail.recipients() == ["shop@example.org"]
    assert "won" not in message["Subject"]


def test_a_mail_server_that_is_away_is_tried_again(
    monkeypatch: pytest.MonkeyPatch, mailoutbox: list[EmailMessage]
) -> None:
    write(tag_of(makers.receive()).code)

    def away(*_: object, **__: object) -> int:
        raise ConnectionRefusedError

    with monkeypatch.context() as patch:
        patch.setattr(found_mail, "send_mail", away)
        assert found_mail.tell_the_shop(at=makers.NOON) == 0
    assert found_mail.tell_the_shop(at=makers.NOON) == 1
    assert len(mailoutbox) == 1


def test_a_restored_copy_tells_nobody_until_it_is_armed(mailoutbox: list[EmailMessage]) -> None:
    write(tag_of(makers.receive()).code)
    arming.disarm()
    assert found_mail.tell_the_shop(at=makers.NOON) == 0
    arming.arm()
    assert found_mail.tell_the_shop(at=makers.NOON) == 1


def test_what_was_dealt_with_is_forgotten_after_a_year() -> None:
    code = tag_of(makers.receive()).code
    write(code)
    write(code, text="Another.")
    found.handled(message_id=FoundMessage.objects.earliest("pk").pk, at=makers.NOON)
    assert found.forget(before=makers.NOON) == 0
    assert found.forget(before=makers.NOON + dt.timedelta(days=1)) == 1
    assert FoundMessage.objects.get().text == "Another."
