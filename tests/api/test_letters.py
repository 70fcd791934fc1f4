"""What stands in a message: text and HTML alike, a link that opens, and a way to stop it."""

import json
import re
from email import message_from_bytes, policy
from email.message import EmailMessage as Parsed

import pytest
import time_machine
from django.core import mail
from django.core.mail import EmailMultiAlternatives
from django.test import Client
from pytest_django import Settings

from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Cylinder, Declined, RecordState, TestRecord
from cylinders.operations import condemnation, consignment, handover, retest
from cylinders.operations.reminders import sweep
from cylinders.rules import judgement
from labels.codes import show
from tests import makers
from tests.api.pages.status.cast import BY, canary, open_shop, tag_of
from tests.cylinders.operations.reminders.cast import at, at_home

pytestmark = pytest.mark.django_db
TODAY = makers.TODAY


@pytest.fixture(autouse=True)
def shop() -> None:
    open_shop()


def sent() -> list[Parsed]:
    """Every message as its receiver reads it."""
    read = []
    for message in mail.outbox:
        assert isinstance(message, EmailMultiAlternatives)
        raw = message.message().as_bytes()
        read.append(message_from_bytes(raw, policy=policy.default))
    return read


def parts(message: Parsed) -> tuple[str, str]:
    text = message.get_body(preferencelist=("plain",))
    html = message.get_body(preferencelist=("html",))
    assert text is not None
    assert html is not None
    return str(text.get_content()), str(html.get_content())


def test_a_reminder_says_what_is_due_in_both_forms_with_the_tag_and_a_link_that_opens(
    client: Client,
) -> None:
    cylinder = at_home(canary())
    order = cylinder.work_orders.get()
    tag = tag_of(order)
    assert sweep(now=at("2026-11-25")).messages == 1
    [message] = sent()
    assert message["Subject"] == "Your cylinder: what is due"
    assert message["To"] == "quillon.canary@example.org"
    assert re.fullmatch(r"<[0-9a-f]{40}@shop\.example\.org>", message["Message-ID"])
    assert message["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    for form in parts(message):
        assert "Pressure test (hydrostatic requalification)" in form
        assert "ue by the end of November 2026" in form
        assert show(tag.code) in form
        assert "KX40417" in form
        assert "The law asks for it: 49 CFR 180.209(a) Table 1" in form
        assert "555-0100" in form
    address = re.search(r"http://127\.0\.0\.1:8000(/s/\S+)", parts(message)[0])
    assert address is not None
    with time_machine.travel(at("2026-11-25"), tick=False):
        assert client.get(address[1]).status_code == 200
    assert Kind.LINK_ISSUED in [entry.kind for entry in history.timeline(cylinder.pk)]


def test_the_header_stops_that_kind_of_message_with_one_post(client: Client) -> None:
    at_home()
    sweep(now=at("2026-11-25"))
    address = sent()[0]["List-Unsubscribe"].strip(" <>")
    assert address in parts(sent()[0])[0]
    client.post(address.removeprefix("http://127.0.0.1:8000"))
    assert Declined.objects.get().kind == "reminders"
    assert sweep(now=at("2026-11-30")).messages == 0


def test_a_duty_that_ran_out_and_stops_fills_is_in_the_subject() -> None:
    at_home()
    sweep(now=at("2027-01-05"))
    [message] = sent()
    assert message["Subject"] == "Your cylinder: out of date, not to be filled"
    for form in parts(message):
        assert "an out at the end of November 2026" in form
        assert "before its next fill" in form


def test_two_cylinders_of_one_owner_are_told_in_one_message_each_with_its_link() -> None:
    owner = makers.make_customer()
    at_home(owner, serial="A111111")
    at_home(owner, serial="B222222")
    sweep(now=at("2026-11-25"))
    [message] = sent()
    text, html = parts(message)
    assert message["Subject"] == "Your 2 cylinders: what is due"
    assert len(set(re.findall(r"/s/([0-9a-z]{32})", text))) == 2
    assert set(re.findall(r"/s/([0-9a-z]{32})", text)) == set(
        re.findall(r"/s/([0-9a-z]{32})", html)
    )


def test_a_condemned_cylinders_owner_gets_the_written_notice_with_the_reason() -> None:
    order = makers.receive(at=at("2026-11-24", 9))
    condemnation.condemn(
        work_order_id=order.pk,
        reason="crack of 3 threads in the neck",
        marked="CONDEMNED on the shoulder, by the lab",
        at=at("2026-11-24", 10),
        by=BY,
    )
    sweep(now=at("2026-11-24", 11))
    [message] = sent()
    assert message["Subject"] == "Written notice: your cylinder is condemned"
    for form in parts(message):
        assert "crack of 3 threads in the neck" in form
        assert "CONDEMNED on the shoulder, by the lab" in form
        assert "49 CFR 180.205(i)(2)-(3)" in form
        assert "never be filled" in form


def test_a_record_that_is_held_is_told_in_plain_words_and_once() -> None:
    order = makers.receive(at=at("2026-11-20", 9))
    makers.take_down(order, at=at("2026-11-20", 10))
    lab = makers.make_lab()
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=at("2026-11-20"), by=BY)
    consignment.send(
        consignment_id=line.consignment_id, carrier="van", on=TODAY, at=at("2026-11-20"), by=BY
    )
    body = makers.record_body(stamp={"month": 10, "year": 2026, "symbol": None})
    text = json.dumps(body)
    retest.receive_record(
        lab_id=lab.pk,
        cylinder_id=order.cylinder_id,
        body=judgement.parse(judgement.loads(text)),
        body_text=text,
        on=TODAY,
        at=at("2026-11-24", 9),
        by=BY,
    )
    assert TestRecord.objects.get().state == RecordState.HELD
    for hour in (11, 12, 13):
        sweep(now=at("2026-11-24", hour))
    [message] = [one for one in sent() if "second look" in one["Subject"]]
    assert message["Subject"] == "Your cylinder waits for a second look"
    for form in parts(message):
        assert "a person here compares the two before it counts" in form
        assert "You need do nothing" in form


def test_a_written_notice_goes_by_mail_also_to_whoever_wants_texts(settings: Settings) -> None:
    settings.TEXT_SENDER = "api.texts.LogSender"
    order = makers.receive(at=at("2026-11-24", 9))
    type(order.customer).objects.update(text_consent=True)
    condemnation.condemn(
        work_order_id=order.pk, reason="a crack", marked="yes", at=at("2026-11-24", 10), by=BY
    )
    sweep(now=at("2026-11-24", 11))
    assert [message["Subject"] for message in sent()] == [
        "Written notice: your cylinder is condemned"
    ]


def test_ready_is_told_and_a_forged_name_gets_into_no_header() -> None:
    owner = makers.make_customer()
    type(owner).objects.filter(pk=owner.pk).update(name="Odo\r\nBcc: all@example.org <b>")
    order = makers.receive(owner, at=at("2026-11-24", 9))
    type(order).objects.filter(pk=order.pk).update(stage="ready", moved_at=at("2026-11-24", 10))
    sweep(now=at("2026-11-24", 11))
    [message] = sent()
    assert message["Subject"] == "Your cylinder is ready"
    assert message["Bcc"] is None
    assert "<b>" not in parts(message)[1].split("<body")[1].split("Odo")[1][:60]


def test_a_message_that_was_not_sent_leaves_no_link_behind() -> None:
    cylinder = at_home()
    Cylinder.objects.filter(pk=cylinder.pk).update(requalified="2026-11")
    sweep(now=at("2026-11-25"))
    assert not mail.outbox
    assert not cylinder.links.exists()


def test_a_link_in_a_reminder_ends_when_the_cylinder_is_sold(client: Client) -> None:
    cylinder = at_home()
    sweep(now=at("2026-11-25"))
    address = re.search(r"/s/[0-9a-z]{32}", parts(sent()[0])[0])
    assert address is not None
    new = makers.make_customer("Nell Drake")
    handover.change_owner(cylinder_id=cylinder.pk, owner_id=new.pk, at=makers.NOON, by=BY)
    with time_machine.travel(at("2026-11-26"), tick=False):
        assert client.get(address[0]).status_code == 410
