"""A lab's record: judged again on arrival, attached or held, then the stamp against it."""

import datetime as dt
import json
from typing import Any

import pytest

from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.models import RecordState, TestRecord, WorkOrder
from cylinders.operations import consignment, retest, stamp
from cylinders.queries.verification import verify
from cylinders.rules import judgement
from tests import makers
from tests.cylinders.operations.test_bench_steps import refused

pytestmark = pytest.mark.django_db

BY, LAB = Actor("staff", "1"), Actor("lab", "1")
AT, ON = makers.NOON, makers.TODAY


def at_the_lab() -> tuple[WorkOrder, int]:
    order = makers.receive()
    makers.take_down(order)
    lab = makers.make_lab()
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=AT, by=BY)
    consignment.send(consignment_id=line.consignment_id, carrier="van 2", on=ON, at=AT, by=BY)
    return order, lab.pk


def post(order: WorkOrder, lab: int, **changes: Any) -> retest.Receipt:
    text = json.dumps(makers.record_body(**changes))
    return retest.receive_record(
        lab_id=lab,
        cylinder_id=order.cylinder_id,
        body=judgement.parse(judgement.loads(text)),
        body_text=text,
        on=ON,
        at=AT,
        by=LAB,
    )


def test_a_good_record_is_attached_and_renews_the_requalification() -> None:
    order, lab = at_the_lab()
    receipt = post(order, lab)
    assert receipt.record.answer["checks"], receipt.record.answer
    assert (receipt.record.verdict, receipt.record.state) == ("passed", "attached")
    cylinder = makers.cylinder_of(order)
    assert (cylinder.requalified, cylinder.requalified_rin) == ("2026-11", "Z999")
    assert history.timeline(order.cylinder_id)[-1].kind == Kind.RECORD_ATTACHED
    assert verify().ok


def test_the_same_record_twice_is_one_record_and_another_text_is_refused() -> None:
    order, lab = at_the_lab()
    assert post(order, lab).created
    assert not post(order, lab).created
    assert TestRecord.objects.count() == 1
    refused("reference_used", lambda: post(order, lab, hold_seconds=33))


def test_numbers_decide_against_the_labs_own_pass() -> None:
    order, lab = at_the_lab()
    over = {
        "permanent_expansion": {"value": "7.1", "unit": "cc"},
        "elastic_expansion": None,
    }
    receipt = post(order, lab, **over)
    assert receipt.record.verdict == "condemned"
    assert makers.cylinder_of(order).life == "condemned"
    assert makers.cylinder_of(order).requalified == "2021-11"
    assert verify().ok


def test_a_contradiction_is_held_for_a_person_and_changes_nothing() -> None:
    order, lab = at_the_lab()
    receipt = post(order, lab, stamp={"month": 10, "year": 2026, "symbol": None})
    assert receipt.record.state == RecordState.HELD
    assert makers.cylinder_of(order).requalified == "2021-11"
    event = history.timeline(order.cylinder_id)[-1]
    assert event.kind == Kind.RECORD_HELD
    assert event.facts["why"]
    assert verify().ok


def test_a_person_attaches_or_dismisses_a_held_record_with_a_reason() -> None:
    order, lab = at_the_lab()
    wrong = {"month": 10, "year": 2026, "symbol": None}
    held = [post(order, lab, stamp=wrong, lab_reference=f"NG-{n}").record for n in (1, 2)]

    def decide(record: TestRecord, *, attach: bool, reason: str = "seen the stamp") -> TestRecord:
        return retest.decide_held(record_id=record.pk, attach=attach, reason=reason, at=AT, by=BY)

    refused("no_reason", lambda: decide(held[0], attach=True, reason=""))
    assert decide(held[0], attach=False).state == RecordState.DISMISSED
    refused("not_held", lambda: decide(held[0], attach=True))
    attached = decide(held[1], attach=True)
    assert (attached.state, attached.verdict) == ("attached", "passed")
    assert makers.cylinder_of(order).requalified == "2026-10"
    assert history.timeline(order.cylinder_id)[-1].facts["decided"] == "seen the stamp"
    assert verify().ok


def test_a_later_rejection_makes_a_condemned_cylinder_no_better() -> None:
    order, lab = at_the_lab()
    over = {"permanent_expansion": {"value": "7.1", "unit": "cc"}, "elastic_expansion": None}
    assert post(order, lab, **over).record.verdict == "condemned"
    dent = makers.record_body()["visual"] | {"external": "fail"}
    failed = {"visual": dent, "disposition": "rejected", "reason": "dent", "stamp": None}
    later = post(order, lab, lab_reference="NG-2026-0418", **failed).record
    assert later.verdict == "rejected"
    assert makers.cylinder_of(order).life == "condemned"
    assert verify().ok


def test_a_cylinder_that_was_not_sent_to_this_lab_takes_no_record() -> None:
    order = makers.receive()
    lab = makers.make_lab().pk
    refused("not_at_lab", lambda: post(order, lab))
    there, _lab = at_the_lab_of("Z111")
    refused("not_at_lab", lambda: post(there, lab))


def at_the_lab_of(rin: str) -> tuple[WorkOrder, int]:
    order = makers.receive(makers.make_customer("Ilse Barrow"))
    makers.take_down(order)
    lab = makers.make_lab(rin)
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=AT, by=BY)
    consignment.send(consignment_id=line.consignment_id, carrier="van", on=ON, at=AT, by=BY)
    return order, lab.pk


def compare(order: WorkOrder, typed: str) -> stamp.Comparison:
    return stamp.compare_stamp(work_order_id=order.pk, typed=typed, on=ON, at=AT, by=BY)


def home_with_a_record() -> WorkOrder:
    order, lab = at_the_lab()
    post(order, lab)
    consignment.take_back(work_order_id=order.pk, at=AT, by=BY)
    return order


def test_a_stamp_that_says_what_the_record_says_agrees() -> None:
    order = home_with_a_record()
    assert compare(order, "11 Z9/99 26").agrees
    order.refresh_from_db()
    assert order.stamp_agrees is True
    assert verify().ok


@pytest.mark.parametrize(
    ("typed", "what"),
    [
        ("10 Z9/99 26", "month"),
        ("11 Z9/99 25", "year"),
        ("11 Z9/91 26", "identification number"),
        ("11 Z9/99 26 +", "symbol"),
    ],
)
def test_a_stamp_that_differs_is_told_apart(typed: str, what: str) -> None:
    order = home_with_a_record()
    answer = compare(order, typed)
    assert not answer.agrees
    assert [what in difference for difference in answer.differences] == [True]


def test_a_stamp_that_cannot_be_read_or_has_no_record_is_refused() -> None:
    order = home_with_a_record()
    refused("stamp_not_read", lambda: compare(order, "scratches"))
    other, _lab = at_the_lab_of("Z111")
    consignment.take_back(work_order_id=other.pk, at=AT, by=BY)
    refused("no_record", lambda: compare(other, "11 Z1/11 26"))


def test_a_record_dated_after_today_is_no_pass() -> None:
    order, lab = at_the_lab()
    tomorrow = (ON + dt.timedelta(days=1)).isoformat()
    assert post(order, lab, date=tomorrow).record.verdict != "passed"


def test_a_record_dated_before_the_cylinder_was_dropped_off_waits_for_a_person() -> None:
    order, lab = at_the_lab()
    came = makers.DROPPED_OFF.date()
    mark = {"month": came.month, "year": came.year, "symbol": None}
    days = [came - dt.timedelta(days=days) for days in (1, 2)]
    near, before = (
        post(order, lab, date=day.isoformat(), stamp=mark, lab_reference=f"NG-{day}").record
        for day in days
    )
    [why] = before.answer["reasons"]
    assert f"tested on {days[1]}, before it was dropped off on {came}" in why
    assert before.state == RecordState.HELD
    assert near.verdict != "held"
    assert verify().ok


def test_what_is_not_known_cannot_be_attached_by_hand() -> None:
    order, lab = at_the_lab()
    cylinder = makers.record_body()["cylinder"] | {"alloy": "6351-T6"}
    record = post(order, lab, cylinder=cylinder).record
    assert record.state == RecordState.HELD
    refusal = refused(
        "still_unknown",
        lambda: retest.decide_held(
            record_id=record.pk, attach=True, reason="looks fine", at=AT, by=BY
        ),
    )
    assert "dismiss this one" in refusal.says
    record.refresh_from_db()
    assert record.state == RecordState.HELD


def test_where_stamp_and_test_differ_the_earlier_month_counts() -> None:
    order, lab = at_the_lab()
    late = {"month": 12, "year": 2026, "symbol": None}
    record = post(order, lab, stamp=late).record
    retest.decide_held(record_id=record.pk, attach=True, reason="seen: 11 26", at=AT, by=BY)
    assert makers.cylinder_of(order).requalified == "2026-11"
    assert verify().ok


def test_a_judgement_that_was_altered_behind_the_operations_is_found() -> None:
    order, lab = at_the_lab()
    record = post(order, lab).record
    assert verify().ok
    TestRecord.objects.filter(pk=record.pk).update(answer=record.answer | {"next_due": "2041-11"})
    assert ["judgements of its test records" in problem for problem in verify().problems] == [True]
