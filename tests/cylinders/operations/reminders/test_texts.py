"""Text messages: on their own consent, in the place of the e-mail, once, and by any class named."""

import datetime as dt
import logging
from collections.abc import Iterator, Sequence
from typing import ClassVar

import pytest
from pytest_django import Settings

from api import logs
from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Consent, Customer, Declined, MessageKind, Notice, NoticeState
from cylinders.operations import privacy
from cylinders.operations.reminders import NumberRefused, Swept, Text, TryLater, plan, sweep
from cylinders.operations.reminders.reasons import Why
from cylinders.rules.refusal import Refused
from tests import mail_server, makers
from tests.cylinders.operations.reminders.cast import BY, at, at_home, open_shop
from tests.post_office import OFFICE, plain_writer

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]
WORDING = "I want text messages from the shop."
HERE = f"{__name__}.Phones"


class Phones:
    """A sender that keeps what it was given; ``problem`` is raised instead."""

    sent: ClassVar[list[tuple[str, str, str]]] = []
    problem: ClassVar[Exception | None] = None

    def send(self, message: Text, *, key: str) -> None:
        if Phones.problem:
            raise Phones.problem
        Phones.sent.append((message.to, message.text, key))


@pytest.fixture(autouse=True)
def phones(settings: Settings) -> Iterator[None]:
    mail_server.use(settings, mail_server.FOLDING)
    settings.TEXT_SENDER = HERE
    OFFICE.empty()
    Phones.sent.clear()
    Phones.problem = None
    open_shop()
    yield
    OFFICE.empty()


def agrees(customer: Customer, *, given: bool = True) -> None:
    privacy.agree(
        customer_id=customer.pk,
        given=given,
        wording=WORDING,
        at=makers.NOON,
        by=BY,
        channel="text",
    )


def run(now: dt.datetime) -> Swept:
    return sweep(now=now, write=plain_writer)


def told() -> tuple[int, int]:
    return len(OFFICE.arrived), len(Phones.sent)


def test_whoever_agreed_to_texts_gets_one_text_and_no_mail() -> None:
    owner = makers.make_customer()
    agrees(owner)
    cylinders = [at_home(owner, serial=f"T{n}") for n in range(2)]
    assert run(at("2026-11-25", 9)).messages == 1
    assert run(at("2026-11-25", 15)).messages == 0
    assert told() == (0, 1)
    [(number, text, key)] = Phones.sent
    assert number == owner.phone
    assert text.startswith("Slack Water Divers: Your 2 cylinders: something is due by the end of")
    assert owner.name not in text
    assert len(text) < 320
    assert key.startswith("<")
    kinds = [entry.kind for entry in history.timeline(cylinders[0].pk)]
    assert kinds.count(Kind.NOTICE_SENT) == 1
    assert set(Notice.objects.filter(state="sent").values_list("channel", flat=True)) == {"text"}


def test_nothing_is_texted_without_consent_or_without_a_number() -> None:
    at_home(makers.make_customer("Ann Reef"))
    silent = makers.make_customer("Una Vell")
    Customer.objects.filter(pk=silent.pk).update(phone="", text_consent=True)
    at_home(silent, serial="U1")
    run(at("2026-11-25"))
    assert told() == (2, 0)
    with pytest.raises(Refused, match="no telephone number"):
        agrees(silent)


def test_where_no_sender_is_named_everything_goes_by_mail(settings: Settings) -> None:
    settings.TEXT_SENDER = ""
    owner = makers.make_customer()
    agrees(owner)
    at_home(owner)
    run(at("2026-11-25"))
    assert told() == (1, 0)


def test_consent_is_kept_by_channel_with_its_day_and_words() -> None:
    owner = makers.make_customer()
    agrees(owner)
    kept = Consent.objects.get()
    assert (kept.channel, kept.given, kept.wording, kept.at) == ("text", True, WORDING, makers.NOON)
    agrees(owner, given=False)
    owner.refresh_from_db()
    assert (owner.text_consent, owner.email_consent) == (False, True)


def test_consent_taken_back_between_plan_and_send_keeps_the_text_and_sends_the_mail() -> None:
    owner = makers.make_customer()
    agrees(owner)
    at_home(owner)
    plan(on=dt.date(2026, 11, 25))
    agrees(owner, given=False)
    assert run(at("2026-11-25", 9)).withdrawn > 0
    run(at("2026-11-25", 9, 15))
    assert told() == (1, 0)
    rows = dict(Notice.objects.filter(days_before=7).values_list("channel", "state"))
    assert rows == {"text": NoticeState.WITHDRAWN, "email": NoticeState.SENT}
    assert Notice.objects.get(channel="text", days_before=7).why == Why.NO_CONSENT


def test_a_notice_that_went_by_mail_does_not_go_again_as_a_text() -> None:
    owner = makers.make_customer()
    at_home(owner)
    run(at("2026-11-24"))
    agrees(owner)
    run(at("2026-11-25"))
    assert told() == (1, 0)


def test_a_number_that_takes_nothing_is_left_alone_and_mail_goes_instead() -> None:
    owner = makers.make_customer()
    agrees(owner)
    at_home(owner)
    Phones.problem = NumberRefused()
    assert run(at("2026-11-25", 9)).failed == 1
    owner.refresh_from_db()
    assert owner.text_refused
    Phones.problem = None
    run(at("2026-11-30", 9))  # the next notice had been planned as a text
    run(at("2026-11-30", 9, 15))
    assert told() == (1, 0)


@pytest.mark.parametrize(
    ("problem", "state"),
    [(TryLater(), NoticeState.PLANNED), (TimeoutError(), NoticeState.UNSURE)],
)
def test_what_was_not_taken_is_tried_again_and_what_may_have_been_goes_under_its_key(
    problem: Exception, state: str
) -> None:
    owner = makers.make_customer()
    agrees(owner)
    at_home(owner)
    Phones.problem = problem
    run(at("2026-11-25", 9))
    row = Notice.objects.get(days_before=7)
    assert row.state == state
    Phones.problem = None
    run(at("2026-11-25", 9, 30))
    row.refresh_from_db()
    assert row.state == NoticeState.SENT
    assert len(Phones.sent) == 1
    if state == NoticeState.UNSURE:
        assert Phones.sent[0][2] == row.message_id or row.message_id == ""


def test_declining_reminders_stops_texts_too() -> None:
    owner = makers.make_customer()
    agrees(owner)
    at_home(owner)
    Declined.objects.create(customer=owner, kind=MessageKind.REMINDERS, at=makers.NOON)
    run(at("2026-11-25"))
    assert told() == (0, 0)


def test_the_log_as_sender_tells_the_words_and_no_number_and_no_secret(
    settings: Settings, caplog: pytest.LogCaptureFixture
) -> None:
    settings.TEXT_SENDER = "api.texts.LogSender"
    owner = makers.make_customer()
    agrees(owner)
    at_home(owner)
    with caplog.at_level(logging.INFO):
        assert run(at("2026-11-25")).messages == 1
    records = [record for record in caplog.records if record.name == "api.texts"]
    lines = written(records)
    assert len(lines) == 1
    assert "something is due by the end of November 2026" in lines[0]
    assert "/s/****" in lines[0]
    assert "/u/****" in lines[0]
    assert owner.phone not in lines[0]


def written(records: Sequence[logging.LogRecord]) -> list[str]:
    return [logs.JsonLines().format(record) for record in records]


def test_erasing_a_person_takes_back_both_consents_and_the_export_tells_them() -> None:
    owner = makers.make_customer()
    agrees(owner)
    privacy.erase(customer_id=owner.pk, reason="asked for it", at=makers.NOON, by=BY)
    owner.refresh_from_db()
    assert (owner.text_consent, owner.email_consent, owner.phone) == (False, False, "")
