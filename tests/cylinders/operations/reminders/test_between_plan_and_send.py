"""What becomes of a message when something happens after it was planned, or goes wrong midway."""

import datetime as dt
import smtplib
from collections.abc import Callable
from typing import Any

import pytest
from django.core.mail import EmailMessage
from pytest_django import Settings

from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Cylinder, Notice, NoticeState, Shop
from cylinders.operations import handover, privacy
from cylinders.operations.reminders import Letter, Swept, outlook, plan, sweep, sweeping
from cylinders.operations.reminders.claiming import Claim, claim_unsure
from cylinders.operations.reminders.reasons import Why
from tests import mail_server, makers
from tests.cylinders.operations.reminders.cast import BY, at, at_home, run
from tests.post_office import OFFICE, Backend, plain_writer

pytestmark = [
    pytest.mark.both_engines,
    pytest.mark.django_db,
    pytest.mark.usefixtures("post_office"),
]
DAY = dt.date(2026, 11, 25)


def row(**where: Any) -> Notice:
    return Notice.objects.get(days_before=7, **where)


def only_send(hour: int, minute: int = 0, **words: Any) -> Swept:
    """A sweep that plans nothing."""
    return sweep(now=at(DAY, hour, minute), planning=False, **{"write": plain_writer} | words)


def breaking(message: EmailMessage) -> None:
    OFFICE.arrived.append(message)
    raise smtplib.SMTPServerDisconnected


def left_unsure() -> Cylinder:
    """A cylinder whose reminder went out on a line that broke, so nobody knows."""
    cylinder = at_home()
    OFFICE.fault = breaking
    assert run(at(DAY, 9)).unsure == 1
    OFFICE.fault = None
    return cylinder


def test_what_was_done_after_the_plan_is_not_reminded_of() -> None:
    cylinder = at_home()
    assert plan(on=DAY) == 2
    Cylinder.objects.filter(pk=cylinder.pk).update(requalified="2026-11")
    assert only_send(9).withdrawn == 1
    assert (row().state, row().why) == (NoticeState.WITHDRAWN, Why.DONE)
    assert OFFICE.arrived == []


def test_the_earlier_of_two_notices_that_may_go_makes_room_for_the_later() -> None:
    at_home()
    assert plan(on=DAY) == 2
    swept = sweep(now=at("2026-11-30", 9), planning=False, write=plain_writer)
    assert (swept.messages, swept.withdrawn) == (1, 1)
    assert (row().state, row().why) == (NoticeState.WITHDRAWN, Why.LATER)
    assert Notice.objects.get(days_before=0).state == NoticeState.SENT


def test_days_that_are_no_days_fall_back_on_the_usual_ones() -> None:
    at_home()
    Shop.objects.update(notice_days={"requalification": [90, "soon"]})
    days = {r.days_before for r in outlook(on=dt.date(2026, 9, 1), ahead=150)}
    assert days >= {60, 30, 7, 0, -30}


def test_a_message_that_may_have_gone_to_the_old_owner_does_not_go_to_the_new_one_again() -> None:
    cylinder = left_unsure()
    handover.change_owner(
        cylinder_id=cylinder.pk, owner_id=makers.make_customer("Bo Kelp").pk, at=makers.NOON, by=BY
    )
    assert only_send(9, 20).withdrawn == 1
    assert (row().state, row().why) == (NoticeState.WITHDRAWN, Why.SOLD)
    assert [message.to for message in OFFICE.arrived] == [["odo@example.org"]]


def times_noted_unsure(cylinder: Cylinder) -> int:
    return [e.kind for e in history.timeline(cylinder.pk)].count(Kind.NOTICE_UNSURE)


def test_each_time_that_it_may_have_gone_is_noted_until_it_is_given_up() -> None:
    cylinder = left_unsure()
    OFFICE.fault = breaking
    for hour in range(10, 15):
        only_send(hour)
    assert (row().state, row().attempts) == (NoticeState.FAILED, 5)
    assert row().why == "given up after 5 attempts"
    assert list(OFFICE.ids.values()) == [5]
    assert times_noted_unsure(cylinder) == 5


def test_a_second_attempt_that_surely_did_not_go_leaves_the_first_one_unsure() -> None:
    cylinder = left_unsure()

    def refuses(_message: EmailMessage) -> None:
        raise ConnectionRefusedError

    OFFICE.fault = refuses
    assert only_send(9, 20).put_off == 1
    assert (row().state, row().attempts) == (NoticeState.UNSURE, 2)
    assert times_noted_unsure(cylinder) == 1


def test_a_message_that_cannot_be_written_again_stays_unsure() -> None:
    left_unsure()

    def cannot(**_words: Any) -> Letter:
        raise KeyError("a word is missing")

    assert only_send(9, 20, write=cannot).put_off == 1
    assert (row().state, row().why) == (NoticeState.UNSURE, "could not be written (KeyError)")


class Hands:
    """The sweep's clock: it stands still but for the seconds that somebody takes."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def running_from(self, now: dt.datetime) -> Callable[[], dt.datetime]:
        return lambda: now + dt.timedelta(seconds=self.seconds)


@pytest.fixture
def hands(monkeypatch: pytest.MonkeyPatch) -> Hands:
    clock = Hands()
    monkeypatch.setattr(sweeping, "_running_from", clock.running_from)
    return clock


def taking(hands: Hands, seconds: float) -> Callable[..., Letter]:
    """A writer that takes so long over each letter."""

    def write(**words: Any) -> Letter:
        hands.seconds += seconds
        return plain_writer(**words)

    return write


def test_what_time_does_not_reach_is_given_back_and_goes_with_the_next_sweep(hands: Hands) -> None:
    for n, name in enumerate(("Ada Wreck", "Bo Kelp", "Cy Drift")):
        at_home(makers.make_customer(name), serial=f"A{n}")
    plan(on=DAY)
    swept = only_send(9, for_seconds=50, write=taking(hands, 60))
    assert swept.messages == 1
    left = Notice.objects.filter(days_before=7).exclude(state=NoticeState.SENT)
    assert {(one.state, one.lease_token) for one in left} == {(NoticeState.PLANNED, "")}
    assert only_send(9, 5).messages == 2
    assert len(OFFICE.ids) == 3


def test_an_unsure_message_that_time_does_not_reach_stays_unsure(
    hands: Hands, monkeypatch: pytest.MonkeyPatch
) -> None:
    left_unsure()

    def slowly(**words: Any) -> Claim:
        hands.seconds += 60
        return claim_unsure(**words)

    monkeypatch.setattr(sweeping, "claim_unsure", slowly)
    assert only_send(9, 20, for_seconds=50).messages == 0
    assert (row().state, row().lease_token) == (NoticeState.UNSURE, "")


class Closing(Backend):
    """A mail server whose line breaks when it is closed."""

    def close(self) -> None:
        raise smtplib.SMTPServerDisconnected


class Away(Backend):
    """A mail server that is not there."""

    def open(self) -> bool:
        raise ConnectionRefusedError


def test_a_line_that_breaks_after_the_message_was_taken_is_no_failure(settings: Settings) -> None:
    mail_server.use(settings, f"{__name__}.Closing")
    at_home()
    assert run(at(DAY, 9)).messages == 1
    assert row().state == NoticeState.SENT


def test_a_mail_server_that_is_not_there_puts_the_message_off(settings: Settings) -> None:
    mail_server.use(settings, f"{__name__}.Away")
    at_home()
    assert run(at(DAY, 9)).put_off == 1
    assert row().why == "no connection to the mail server (ConnectionRefusedError)"


def test_a_sender_of_texts_that_cannot_be_loaded_puts_the_text_off(settings: Settings) -> None:
    settings.TEXT_SENDER = f"{__name__}.NoSuchSender"
    owner = at_home().owner
    privacy.agree(
        customer_id=owner.pk, given=True, wording="Texts.", at=makers.NOON, by=BY, channel="text"
    )
    assert run(at(DAY, 9)).put_off == 1
    assert row().why == "no way to send text messages (ImportError)"
    assert OFFICE.arrived == []
