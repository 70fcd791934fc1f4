"""What a sweep sends, to whom, when, and what keeps it from sending."""

import datetime as dt
import smtplib
from typing import Any

import pytest
from django.core.mail import EmailMessage

from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Cylinder, Declined, MessageKind, Notice, NoticeState, Shop
from cylinders.operations import correction, handover, intake
from cylinders.operations.reminders import Letter, hundreds_waiting, outlook, plan, sweep
from cylinders.operations.reminders.reasons import Why
from cylinders.queries.verification import verify
from tests import makers
from tests.cylinders.operations.reminders.cast import BY, LAST_DAY, at, at_home, run
from tests.post_office import OFFICE, plain_writer

pytestmark = [
    pytest.mark.both_engines,
    pytest.mark.django_db,
    pytest.mark.usefixtures("post_office"),
]


def states() -> dict[tuple[str, int], str]:
    return {(row.duty, row.days_before): row.state for row in Notice.objects.all()}


#: the days of each notice with the days beside it, and all days of five months
AROUND = [
    LAST_DAY + dt.timedelta(days=n + beside) for n in (-60, -30, -7, 0, 30) for beside in (-1, 0, 1)
]
ALL_DAYS = [dt.date(2026, 9, 1) + dt.timedelta(days=n) for n in range(150)]


@pytest.mark.parametrize(
    "days", [AROUND, pytest.param(ALL_DAYS, marks=pytest.mark.long)], ids=["around", "all"]
)
def test_the_five_notices_of_a_duty_go_on_their_days_and_once(days: list[dt.date]) -> None:
    cylinder = at_home()
    sent: dict[dt.date, list[str]] = {}
    for day in days:
        before = len(OFFICE.arrived)
        run(at(day, 9))
        run(at(day, 15))
        lines = [str(m.body) for m in OFFICE.arrived[before:] if "requalification" in str(m.body)]
        if lines:
            sent[day] = lines
    assert list(sent) == [LAST_DAY - dt.timedelta(days=n) for n in (60, 30, 7, 0, -30)]
    assert all(len(lines) == 1 for lines in sent.values())
    assert set(OFFICE.ids.values()) == {1}
    kinds = [entry.kind for entry in history.timeline(cylinder.pk)]
    assert kinds.count(Kind.NOTICE_SENT) == Notice.objects.filter(state="sent").count()
    assert not [problem for problem in verify().problems if "last_visual" not in problem]


def test_a_service_that_was_down_sends_the_latest_notice_only() -> None:
    at_home()
    swept = run(at("2026-11-25"))
    assert (swept.messages, swept.sent) == (1, 1)
    assert states()[("requalification", 7)] == NoticeState.SENT
    assert ("requalification", 60) not in states()
    assert ("requalification", 30) not in states()


def test_several_duties_and_cylinders_of_one_owner_make_one_message_a_day() -> None:
    owner = makers.make_customer()
    for number in range(3):
        at_home(owner, serial=f"A{number}")
    first = run(at("2026-11-25", 9))
    late = at_home(owner, serial="A9")
    second = run(at("2026-11-25", 15))
    assert (first.messages, first.sent, second.messages) == (1, 3, 0)
    next_day = run(at("2026-11-26", 9))
    assert (next_day.messages, next_day.sent) == (1, 1)
    assert str(OFFICE.arrived[-1].body).startswith(f"{late.pk} requalification")


@pytest.mark.parametrize(
    ("hour", "minute", "goes"),
    [(0, 0, False), (7, 59, False), (8, 0, True), (17, 59, True), (18, 0, False), (23, 59, False)],
)
def test_messages_go_in_the_shops_hours_only(hour: int, minute: int, goes: bool) -> None:  # noqa: FBT001 - a column of the table
    at_home()
    swept = run(at("2026-11-25", hour, minute))
    assert bool(swept.messages) is goes
    assert bool(swept.says) is not goes
    assert swept.planned > 0


def test_the_day_is_the_shops_and_not_the_servers() -> None:
    at_home()
    # Already 1 October by universal time, but still the evening before in New York.
    run(dt.datetime(2026, 10, 1, 3, 0, tzinfo=dt.UTC))
    assert not OFFICE.arrived
    assert Notice.objects.get(days_before=60, duty="requalification").send_on == dt.date(
        2026, 10, 1
    )


def test_nothing_is_sent_while_the_shop_has_paused_its_messages() -> None:
    at_home()
    Shop.objects.update(notices_paused=True)
    swept = run(at("2026-11-25"))
    assert not OFFICE.arrived
    assert "paused" in swept.says[0]
    Shop.objects.update(notices_paused=False)
    assert run(at("2026-11-25")).messages == 1


def test_nobody_is_called_to_send_while_nothing_may_go() -> None:
    """Whatever the hour is at which the tests run."""
    assert hundreds_waiting(now=at("2026-11-23", 10)) == 0
    at_home()
    assert plan(on=dt.date(2026, 11, 23)) > 0
    assert hundreds_waiting(now=at("2026-11-23", 10)) == 1
    assert hundreds_waiting(now=at("2026-11-23", 2)) == 0
    Shop.objects.update(notices_paused=True)
    assert hundreds_waiting(now=at("2026-11-23", 10)) == 0


def planned_on_the_day() -> Cylinder:
    """A reminder is written down, and its day has come, but nothing has been sent yet."""
    cylinder = at_home()
    assert plan(on=dt.date(2026, 11, 23)) > 0
    return cylinder


def row() -> Notice:
    return Notice.objects.get(duty="requalification", days_before=7)


def test_nothing_is_sent_for_a_duty_that_was_done() -> None:
    cylinder = planned_on_the_day()
    Cylinder.objects.filter(pk=cylinder.pk).update(requalified="2026-11")
    run(at("2026-11-23"))
    assert not OFFICE.arrived
    assert (row().state, row().why) == (NoticeState.WITHDRAWN, Why.DONE)


@pytest.mark.parametrize("life", ["condemned", "rejected"])
def test_nothing_is_sent_for_a_cylinder_out_of_use(life: str) -> None:
    cylinder = planned_on_the_day()
    Cylinder.objects.filter(pk=cylinder.pk).update(life=life)
    run(at("2026-11-23"))
    assert not OFFICE.arrived
    assert row().state == NoticeState.WITHDRAWN


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"email_consent": False}, Why.NO_CONSENT),
        ({"email_bounced": True}, Why.NO_ADDRESS),
        ({"email": ""}, Why.NO_ADDRESS),
    ],
)
def test_nothing_is_sent_to_who_does_not_want_or_cannot_get_it(
    change: dict[str, object], why: Why
) -> None:
    cylinder = planned_on_the_day()
    owner = cylinder.owner
    before = {name: getattr(owner, name) for name in change}
    type(owner).objects.filter(pk=owner.pk).update(**change)
    run(at("2026-11-23"))
    assert not OFFICE.arrived
    assert (row().state, row().why) == (NoticeState.WITHDRAWN, why)
    type(owner).objects.filter(pk=owner.pk).update(**before)
    assert run(at("2026-11-24")).messages == 1  # the reason has gone, and so the notice goes


def test_a_declined_kind_is_not_sent_and_not_planned() -> None:
    cylinder = planned_on_the_day()
    Declined.objects.create(customer=cylinder.owner, kind=MessageKind.REMINDERS, at=makers.NOON)
    run(at("2026-11-23"))
    assert not OFFICE.arrived
    assert row().why == Why.DECLINED
    assert list(outlook(on=dt.date(2026, 11, 23), ahead=30)) == []


def test_the_new_owner_is_told_and_the_old_one_is_not() -> None:
    cylinder = planned_on_the_day()
    new = makers.make_customer("Nell Drake")
    handover.change_owner(cylinder_id=cylinder.pk, owner_id=new.pk, at=makers.NOON, by=BY)
    run(at("2026-11-23"))
    assert [message.to for message in OFFICE.arrived] == [[new.email]]
    assert row().customer_id == new.pk


def test_a_cylinder_in_the_shop_is_reminded_of_when_it_has_left() -> None:
    cylinder = planned_on_the_day()
    order = intake.receive_again(
        cylinder_id=cylinder.pk, arrival=intake.Arrival(), at=at("2026-11-23", 8), by=BY
    )
    run(at("2026-11-23"))
    assert not [m for m in OFFICE.arrived if "requalification" in str(m.body)]
    assert row().state == NoticeState.PLANNED
    handover.withdraw(work_order_id=order.pk, reason="changed their mind", at=makers.NOON, by=BY)
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=makers.NOON, by=BY)
    run(at("2026-11-26"))
    assert row().state == NoticeState.SENT


def test_a_corrected_marking_moves_the_reminders_with_it() -> None:
    cylinder = planned_on_the_day()
    correction.correct_marking(
        cylinder_id=cylinder.pk,
        field="requalified",
        becomes="2022-11",
        reason="read again",
        at=makers.NOON,
        by=BY,
    )
    run(at("2026-11-23"))
    assert not OFFICE.arrived
    assert row().why == Why.DONE


def test_planning_twice_adds_nothing() -> None:
    at_home()
    assert plan(on=dt.date(2026, 11, 25)) == 2  # the notice of today and the one of the last day
    assert plan(on=dt.date(2026, 11, 25)) == 0


def test_the_shops_own_days_count_and_useless_ones_do_not() -> None:
    at_home()
    Shop.objects.update(notice_days={"requalification": [90, 14]})
    assert {r.days_before for r in outlook(on=dt.date(2026, 9, 1), ahead=100)} >= {90, 14}
    Shop.objects.update(notice_days={"requalification": "soon"})
    days = {r.days_before for r in outlook(on=dt.date(2026, 9, 1), ahead=150)}
    assert days >= {60, 30, 7, 0, -30}


def fail_with(problem: Exception) -> None:
    def fault(_: EmailMessage) -> None:
        raise problem

    OFFICE.fault = fault


@pytest.mark.parametrize(
    "problem",
    [
        smtplib.SMTPDataError(451, b"try later"),
        smtplib.SMTPRecipientsRefused({"odo@example.org": (450, b"grey")}),
        smtplib.SMTPAuthenticationError(535, b"no"),
        ConnectionRefusedError(),
    ],
)
def test_a_message_that_was_put_off_is_tried_again_later(problem: Exception) -> None:
    at_home()
    fail_with(problem)
    assert run(at("2026-11-25", 9)).put_off == 1
    OFFICE.fault = None
    assert run(at("2026-11-25", 9)).messages == 0
    assert run(at("2026-11-25", 9, 2)).messages == 1
    assert row().attempts == 2


def test_after_five_attempts_a_message_is_given_up_and_shown() -> None:
    at_home()
    fail_with(ConnectionRefusedError())
    for hour in range(8, 18):
        run(at("2026-11-25", hour))
    assert (row().state, row().attempts) == (NoticeState.FAILED, 5)


def test_an_address_that_takes_no_messages_is_not_tried_again() -> None:
    cylinder = at_home()
    fail_with(smtplib.SMTPRecipientsRefused({"odo@example.org": (550, b"no such mailbox")}))
    assert run(at("2026-11-25")).failed == 1
    OFFICE.fault = None
    cylinder.owner.refresh_from_db()
    assert cylinder.owner.email_bounced
    assert run(at("2026-11-30")).messages == 0
    assert "odo@example.org" not in row().why


@pytest.mark.parametrize("problem", [smtplib.SMTPServerDisconnected(), TimeoutError()])
def test_a_connection_that_broke_leaves_it_unsure_and_sends_once_more_with_the_same_id(
    problem: Exception,
) -> None:
    cylinder = at_home()

    def took_it_and_broke(message: EmailMessage) -> None:
        OFFICE.arrived.append(message)
        raise problem

    OFFICE.fault = took_it_and_broke
    assert run(at("2026-11-25", 9)).unsure == 1
    assert row().state == NoticeState.UNSURE
    OFFICE.fault = None
    assert run(at("2026-11-25", 9, 9)).messages == 0
    assert run(at("2026-11-25", 9, 16)).messages == 1
    assert list(OFFICE.ids.values()) == [2]
    assert len(OFFICE.folded) == 1
    kinds = [entry.kind for entry in history.timeline(cylinder.pk)][-2:]
    assert kinds == [Kind.NOTICE_UNSURE, Kind.NOTICE_SENT]


def test_a_line_break_in_an_address_reaches_no_header() -> None:
    cylinder = at_home()
    type(cylinder.owner).objects.update(email="odo@example.org\nBcc: all@example.org")
    assert run(at("2026-11-25")).failed == 1
    assert not OFFICE.arrived


def test_a_long_absence_ends_the_last_notice() -> None:
    at_home()
    run(at("2027-03-01"))
    assert not [m for m in OFFICE.arrived if "requalification" in str(m.body)]


def test_ready_is_told_once_and_still_here_after_thirty_days() -> None:
    order = makers.receive(at=at("2026-11-02", 9))
    run(at("2026-11-02", 10))
    assert [str(m.body).split()[1] for m in OFFICE.arrived] == ["received"]
    type(order).objects.filter(pk=order.pk).update(stage="ready", moved_at=at("2026-11-05", 9))
    for day in range(5, 30):
        run(at(dt.date(2026, 11, day), 10))
    assert [str(m.body).split()[1] for m in OFFICE.arrived] == ["received", "ready"]
    run(at("2026-12-05", 10))
    assert str(OFFICE.arrived[-1].body).split()[1] == "still_here"


def test_news_that_is_no_longer_so_is_not_told() -> None:
    order = makers.receive(at=at("2026-11-02", 19))
    assert run(at("2026-11-02", 20)).planned == 1
    handover.withdraw(work_order_id=order.pk, reason="no time", at=at("2026-11-02", 21), by=BY)
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=at("2026-11-02", 21), by=BY)
    run(at("2026-11-03", 9))
    assert not [m for m in OFFICE.arrived if "received" in str(m.body)]


def test_a_cylinder_that_was_condemned_after_it_was_ready_is_not_told_as_ready() -> None:
    order = makers.receive(at=at("2026-11-02", 9))
    run(at("2026-11-02", 10))
    type(order).objects.filter(pk=order.pk).update(stage="ready", moved_at=at("2026-11-05", 9))
    assert run(at("2026-11-05", 20)).planned == 1
    Cylinder.objects.filter(pk=order.cylinder_id).update(life="condemned")
    run(at("2026-11-06", 9))
    assert not [m for m in OFFICE.arrived if "ready" in str(m.body)]
    assert Notice.objects.get(duty="ready").why == Why.LIFE


def test_a_message_that_cannot_be_written_keeps_no_other_from_going() -> None:
    first = at_home(makers.make_customer("Ada Wreck"), serial="A1")
    at_home(makers.make_customer("Bo Kelp"), serial="B2")

    def breaks(**words: Any) -> Letter:
        if words["customer"] == first.owner:
            raise KeyError("a word is missing")
        return plain_writer(**words)

    for hour in range(8, 18):
        sweep(now=at("2026-11-25", hour), write=breaks)
    assert [message.to for message in OFFICE.arrived] == [["bo@example.org"]]
    failed = Notice.objects.get(cylinder=first, days_before=7)
    assert (failed.state, failed.attempts) == (NoticeState.FAILED, 5)
    assert failed.why == "could not be written (KeyError)"
