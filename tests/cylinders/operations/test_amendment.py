"""What a lab takes back ends the same in whatever order it arrives, and nothing is lost."""

import datetime as dt
import json
from collections.abc import Callable
from itertools import permutations
from typing import Any

import pytest
from django.db import transaction

from cylinders import history
from cylinders.facts import Actor
from cylinders.models import Cylinder, Lab, RecordVoid, TestRecord, WorkOrder
from cylinders.operations import amendment, consignment, retest
from cylinders.operations.amendment import Correction
from cylinders.queries.verification import verify
from cylinders.rules import judgement
from cylinders.rules.refusal import Refused
from tests import makers
from tests.makers import NOON, TODAY

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

BY = Actor("lab", "1")
Step = Callable[[], object]
Undo = Callable[[Callable[[], dict[str, Any]]], dict[str, Any]]


@pytest.fixture
def lab(db: None) -> Lab:
    makers.technician_one()
    return makers.make_lab()


@pytest.fixture
def order(lab: Lab) -> WorkOrder:
    return at_lab(lab)


#: before the earliest test that is posted here
LONG_AGO = dt.datetime(2026, 9, 1, 12, 0, tzinfo=dt.UTC)


def at_lab(lab: Lab, serial: str = "KX40417") -> WorkOrder:
    order = makers.receive(serial=serial, at=LONG_AGO)
    makers.take_down(order)
    staff = Actor("staff", "1")
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=NOON, by=staff)
    consignment.send(consignment_id=line.consignment_id, carrier="van", on=TODAY, at=NOON, by=staff)
    return order


def arguments(lab: Lab, order: WorkOrder, reference: str, changes: dict[str, Any]) -> Any:
    text = json.dumps(makers.record_body(lab_reference=reference, **changes))
    return {
        "lab_id": lab.pk,
        "cylinder_id": order.cylinder_id,
        "body": judgement.parse(judgement.loads(text)),
        "body_text": text,
        "on": TODAY,
        "at": NOON,
        "by": BY,
    }


def record(lab: Lab, order: WorkOrder, reference: str, **changes: Any) -> TestRecord:
    return retest.receive_record(**arguments(lab, order, reference, changes)).record


def correct(
    lab: Lab, order: WorkOrder, reference: str, corrects: str, why: str = "typed wrongly", **c: Any
) -> TestRecord:
    given = arguments(lab, order, reference, c)
    return amendment.correct_record(correction=Correction(corrects, why), **given).record


def void(lab: Lab, reference: str, why: str = "another cylinder's") -> RecordVoid:
    made, _new = amendment.void_record(
        lab_id=lab.pk, lab_reference=reference, reason=why, at=NOON, by=BY
    )
    return made


def refusal(step: Step) -> str:
    with pytest.raises(Refused) as refused:
        step()
    return refused.value.code


def ends(order: WorkOrder) -> dict[str, Any]:
    """All that must not depend on the order of arrival."""
    cylinder = Cylinder.objects.get(pk=order.cylinder_id)
    records = TestRecord.objects.order_by("lab_reference")
    return {
        "states": dict(records.values_list("lab_reference", "state")),
        "links": dict(records.values_list("lab_reference", "supersedes__lab_reference")),
        "requalified": (cylinder.requalified, cylinder.requalified_symbol, cylinder.life),
        "threads": cylinder.last_thread_examination,
        "voids": sorted(RecordVoid.objects.values_list("lab_reference", flat=True)),
    }


OVER: dict[str, Any] = {
    "permanent_expansion": {"value": "7.1", "unit": "cc"},
    "elastic_expansion": None,
}
SEPTEMBER: dict[str, Any] = {
    "date": "2026-09-20",
    "stamp": {"month": 9, "year": 2026, "symbol": None},
    "calibration": makers.record_body()["calibration"] | {"date": "2026-09-20"},
}
#: the end of a cylinder's service is said by the lab too, so that nothing contradicts itself
CONDEMNED = OVER | {"disposition": "condemned", "reason": "over 10 %", "stamp": None}


def story_of(name: str, lab: Lab, order: WorkOrder) -> list[Step]:
    """The same arrivals in the order in which they were meant."""
    r1: Step = lambda: record(lab, order, "R1")  # noqa: E731 - named for the table below
    r1_bad: Step = lambda: record(lab, order, "R1", **CONDEMNED)  # noqa: E731 - the same
    r1_held: Step = lambda: record(  # noqa: E731 - the same
        lab, order, "R1", stamp={"month": 3, "year": 2024, "symbol": None}
    )
    c2: Step = lambda: correct(lab, order, "C2", "R1", **SEPTEMBER)  # noqa: E731 - the same
    c2_bad: Step = lambda: correct(lab, order, "C2", "R1", **CONDEMNED)  # noqa: E731 - the same
    c2_short: Step = lambda: correct(lab, order, "C2", "R1", hold_seconds=20)  # noqa: E731 - the same
    c3: Step = lambda: correct(lab, order, "C3", "C2")  # noqa: E731 - the same
    return {
        "a correction": [r1, c2],
        "a correction of a correction": [r1, c2, c3],
        "a void": [r1, lambda: void(lab, "R1")],
        "a void of the correction": [r1, c2, lambda: void(lab, "C2")],
        "a void of the corrected": [r1, c2, lambda: void(lab, "R1")],
        "a void in the middle": [r1, c2, c3, lambda: void(lab, "C2")],
        "a void of the last": [r1, c2, c3, lambda: void(lab, "C3")],
        "all void": [r1, c2, lambda: void(lab, "R1"), lambda: void(lab, "C2")],
        "a correction that condemns": [r1, c2_bad],
        "a correction that lifts": [r1_bad, c2],
        "a correction of what was held": [r1_held, c2],
        "a correction that says nothing": [r1, c2_short],
        "a void of what was held": [r1_held, lambda: void(lab, "R1")],
    }[name]


STORIES = {
    "a correction": ({"C2": "attached", "R1": "superseded"}, "2026-09", "in_service"),
    "a correction of a correction": (
        {"C2": "superseded", "C3": "attached", "R1": "superseded"},
        "2026-11",
        "in_service",
    ),
    "a void": ({"R1": "voided"}, "2021-11", "in_service"),
    "a void of the correction": ({"C2": "voided", "R1": "attached"}, "2026-11", "in_service"),
    "a void of the corrected": ({"C2": "attached", "R1": "voided"}, "2026-09", "in_service"),
    "a void in the middle": (
        {"C2": "voided", "C3": "attached", "R1": "superseded"},
        "2026-11",
        "in_service",
    ),
    "a void of the last": (
        {"C2": "attached", "C3": "voided", "R1": "superseded"},
        "2026-09",
        "in_service",
    ),
    "all void": ({"C2": "voided", "R1": "voided"}, "2021-11", "in_service"),
    "a correction that condemns": ({"C2": "attached", "R1": "superseded"}, "2021-11", "condemned"),
    "a correction that lifts": ({"C2": "held", "R1": "attached"}, "2021-11", "condemned"),
    "a correction of what was held": (
        {"C2": "attached", "R1": "superseded"},
        "2026-09",
        "in_service",
    ),
    "a correction that says nothing": (
        {"C2": "attached", "R1": "superseded"},
        "2021-11",
        "in_service",
    ),
    "a void of what was held": ({"R1": "voided"}, "2021-11", "in_service"),
}


@pytest.fixture
def undone() -> Undo:
    """Run something, keep what it returns, and undo it."""

    def run(work: Callable[[], dict[str, Any]]) -> dict[str, Any]:
        with transaction.atomic():
            found = work()
            transaction.set_rollback(True)
        return found

    return run


@pytest.mark.parametrize("name", STORIES)
@pytest.mark.sampled(of=4)
def test_every_order_of_arrival_ends_the_same(
    lab: Lab,
    order: WorkOrder,
    name: str,
    undone: Undo,
) -> None:
    steps = story_of(name, lab, order)
    states, requalified, life = STORIES[name]

    def play(arrivals: tuple[Step, ...]) -> dict[str, Any]:
        for step in arrivals:
            step()
        assert verify().problems == ()
        return ends(order)

    expected = undone(lambda: play(tuple(steps)))
    assert expected["states"] == states
    assert (expected["requalified"][0], expected["requalified"][2]) == (requalified, life)
    for arrivals in permutations(steps):
        assert undone(lambda given=arrivals: play(given)) == expected  # type: ignore[misc] # bound at once


def test_what_was_reported_is_kept_word_for_word(lab: Lab, order: WorkOrder) -> None:
    first = record(lab, order, "R1").body
    correct(lab, order, "C2", "R1", "hold was 33 s", hold_seconds=33)
    void(lab, "C2")
    kept = TestRecord.objects.get(lab_reference="R1")
    assert kept.body == first
    assert TestRecord.objects.get(lab_reference="C2").correction_reason == "hold was 33 s"
    told = [entry.kind.value for entry in history.timeline(order.cylinder_id)][-5:]
    assert told == [
        "retest:record:attached",
        "retest:record:attached",
        "retest:record:settled",
        "retest:record:settled",
        "retest:record:settled",
    ]


def test_a_person_may_let_a_correction_of_a_rejection_count(lab: Lab, order: WorkOrder) -> None:
    seen = {"internal": "fail", "external": "pass", "standard": "CGA C-6.1", "notes": "rust"}
    rejected = {"visual": seen, "disposition": "rejected", "reason": "rust", "stamp": None}
    assert record(lab, order, "R1", **rejected).verdict == "rejected"
    waiting = correct(lab, order, "C2", "R1")
    assert waiting.state == "held"
    staff = Actor("staff", "1")
    retest.decide_held(
        record_id=waiting.pk, attach=True, reason="read the sheet with the lab", at=NOON, by=staff
    )
    assert ends(order)["states"] == {"C2": "attached", "R1": "superseded"}
    # The figures are mended; whether the cylinder serves again is not for a record to say.
    assert Cylinder.objects.get(pk=order.cylinder_id).life == "rejected"
    assert verify().ok


def test_no_correction_brings_a_condemned_cylinder_back(lab: Lab, order: WorkOrder) -> None:
    record(lab, order, "R1", **CONDEMNED)
    waiting = correct(lab, order, "C2", "R1")
    staff = Actor("staff", "1")
    decide: Step = lambda: retest.decide_held(  # noqa: E731 - passed on below
        record_id=waiting.pk, attach=True, reason="typed wrongly", at=NOON, by=staff
    )
    assert refusal(decide) == "cylinder_condemned"
    assert ends(order)["states"] == {"C2": "held", "R1": "attached"}


def test_a_dismissed_correction_leaves_the_record_as_it_was(lab: Lab, order: WorkOrder) -> None:
    record(lab, order, "R1", **CONDEMNED)
    waiting = correct(lab, order, "C2", "R1")
    staff = Actor("staff", "1")
    retest.decide_held(record_id=waiting.pk, attach=False, reason="no", at=NOON, by=staff)
    assert ends(order)["states"] == {"C2": "dismissed", "R1": "attached"}
    assert verify().ok


def test_a_record_that_ended_a_life_is_not_voided_by_whoever_sent_it(
    lab: Lab, order: WorkOrder
) -> None:
    record(lab, order, "R1", **CONDEMNED)
    assert refusal(lambda: void(lab, "R1")) == "void_needs_person"
    assert ends(order)["states"] == {"R1": "attached"}


def test_a_void_that_came_first_does_not_lift_a_condemnation(lab: Lab, order: WorkOrder) -> None:
    void(lab, "R1")
    record(lab, order, "R1", **CONDEMNED)
    assert ends(order)["states"] == {"R1": "attached"}
    assert Cylinder.objects.get(pk=order.cylinder_id).life == "condemned"


def test_sent_twice_is_done_once(lab: Lab, order: WorkOrder) -> None:
    record(lab, order, "R1")
    assert correct(lab, order, "C2", "R1") == correct(lab, order, "C2", "R1")
    assert void(lab, "C2") == void(lab, "C2", "again")
    events = len(history.timeline(order.cylinder_id))
    void(lab, "C2")
    assert len(history.timeline(order.cylinder_id)) == events


def test_what_cannot_be_corrected_is_refused(lab: Lab, order: WorkOrder) -> None:
    record(lab, order, "R1")
    other = at_lab(lab, "ZZ90000")
    cylinder = makers.record_body()["cylinder"] | {"serial": "ZZ90000"}
    assert refusal(lambda: correct(lab, order, "C2", "R1", " ")) == "no_reason"
    assert refusal(lambda: correct(lab, order, "R9", "R9")) == "corrects_itself"
    assert refusal(lambda: correct(lab, other, "C2", "R1", cylinder=cylinder)) == "other_cylinder"
    assert refusal(lambda: correct(lab, order, "R1", "R0")) == "reference_used"
    assert refusal(lambda: void(lab, "R1", "")) == "no_reason"
    correct(lab, order, "C2", "R1")
    assert refusal(lambda: correct(lab, order, "C3", "R1")) == "already_corrected"
    assert refusal(lambda: correct(lab, order, "C2", "R1", hold_seconds=40)) == "reference_used"


def test_another_labs_references_are_its_own(lab: Lab, order: WorkOrder) -> None:
    record(lab, order, "R1")
    other = makers.make_lab("Z998")
    theirs = at_lab(other, "ZZ90000")
    cylinder = makers.record_body()["cylinder"] | {"serial": "ZZ90000"}
    waiting = correct(other, theirs, "C2", "R1", cylinder=cylinder, rin="Z998")
    assert (waiting.state, waiting.supersedes) == ("held", None)
    void(other, "R1")
    assert TestRecord.objects.get(lab=lab, lab_reference="R1").state == "attached"


def test_a_correction_is_taken_after_the_cylinder_went_home(lab: Lab, order: WorkOrder) -> None:
    record(lab, order, "R1")
    staff = Actor("staff", "1")
    consignment.take_back(work_order_id=order.pk, at=NOON, by=staff)
    WorkOrder.objects.filter(pk=order.pk).update(closed_at=NOON)
    assert correct(lab, order, "C2", "R1").work_order == order
    void(lab, "C2")
    assert ends(order)["states"] == {"C2": "voided", "R1": "attached"}
