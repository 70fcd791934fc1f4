"""A lab that asks from time to time hears of everything once, and of nothing of others."""

import datetime as dt
from typing import Any

import pytest
import time_machine

from cylinders.models import Cylinder, TestRecord
from cylinders.operations import consignment, retest
from tests import makers
from tests.api.v1.lab import BY, RECORDS, LabClient, body, make_lab_client, order_at, tag_of

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

EVENTS = "/api/v1/events"


def heard(lab: LabClient, after: int = 0, **window: int) -> dict[str, Any]:
    """What the lab hears a minute later: by then nothing is on its way any more."""
    query = "&".join(f"{name}={value}" for name, value in ({"after": after} | window).items())
    with time_machine.travel(makers.NOON + dt.timedelta(minutes=1), tick=False):
        answer = lab.get(f"{EVENTS}?{query}")
    assert answer.status == 200
    made: dict[str, Any] = answer.json
    return made


def types(told: dict[str, Any]) -> list[str]:
    return [event["type"] for event in told["items"]]


def test_a_cylinders_way_through_the_lab_is_told_in_order(lab: LabClient) -> None:
    order = Cylinder.objects.get().work_orders.get()
    code = tag_of(order).code
    lab.post(body(reference="NG-1"))
    record = {"reason": "typed wrongly", "record": body(reference="NG-2")}
    lab.post(record, path=f"{RECORDS}/NG-1/corrections")
    lab.post({"reason": "another's"}, path=f"{RECORDS}/NG-2/void")
    consignment.take_back(work_order_id=order.pk, at=makers.NOON, by=BY)
    told = heard(lab)
    assert types(told) == [
        "cylinder.sent",
        "record.accepted",
        "record.accepted",
        "record.superseded",
        "record.voided",
        "record.attached",
        "cylinder.returned",
    ]
    assert {event["tag"] for event in told["items"]} == {code}
    accepted = told["items"][1]
    assert (accepted["lab_reference"], accepted["record"]) == ("NG-1", f"{RECORDS}/NG-1")
    assert told["items"][0]["consignment"] == order.lines.get().consignment_id
    assert told["next"] is None


def test_a_decision_on_a_held_record_is_told(lab: LabClient) -> None:
    lab.post(body(reference="NG-1", stamp={"month": 3, "year": 2024, "symbol": None}))
    retest.decide_held(
        record_id=TestRecord.objects.get().pk, attach=False, reason="no", at=makers.NOON, by=BY
    )
    assert types(heard(lab)) == ["cylinder.sent", "record.held", "record.dismissed"]
    assert heard(lab)["items"][2]["lab_reference"] == "NG-1"


def test_asking_from_the_last_place_tells_nothing_twice(lab: LabClient) -> None:
    first = heard(lab)
    assert types(first) == ["cylinder.sent"]
    assert heard(lab, first["after"])["items"] == []
    lab.post(body(reference="NG-1"))
    assert types(heard(lab, first["after"])) == ["record.accepted"]


def test_pages_of_events_follow_each_other(lab: LabClient) -> None:
    for number in range(5):
        order_at(lab.lab, f"ZZ9000{number}")
    whole = heard(lab)["items"]
    assert len(whole) == 6
    told, after = [], 0
    for _ in range(3):
        page = heard(lab, after, limit=2)
        told += page["items"]
        after = page["after"]
    assert told == whole
    assert page["next"] is None


def test_another_lab_hears_nothing_of_it(lab: LabClient) -> None:
    other = make_lab_client("Z998")
    lab.post(body(reference="NG-1"))
    assert heard(other)["items"] == []
    # The same cylinder on its next visit goes to the other lab.
    order = Cylinder.objects.get().work_orders.get()
    consignment.take_back(work_order_id=order.pk, at=makers.NOON, by=BY)
    order_at(other.lab, "ZZ90000")
    assert types(heard(other)) == ["cylinder.sent"]
    assert "NG-1" not in str(heard(other))
