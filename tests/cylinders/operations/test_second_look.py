"""An eddy current indication: nothing passes before another person has looked."""

from pathlib import Path

import pytest
from pytest_django import Settings

from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.models import FileKind, Inspection, WorkOrder
from cylinders.operations import (
    condemnation,
    consignment,
    filing,
    handover,
    inspection,
    oxygen,
    reassembly,
    second_look,
)
from cylinders.operations.inspection import Look
from cylinders.operations.second_look import SecondLook
from cylinders.queries.for_customer import story_of
from cylinders.queries.shop_day import zone_of
from cylinders.queries.verification import verify
from cylinders.rules.eddy_current import Sight, judge_sights
from cylinders.rules.refusal import Refused
from cylinders.rules.verdict import Certainty, Outcome
from cylinders.story import tell
from tests import files, makers

pytestmark = [pytest.mark.django_db, pytest.mark.both_engines]

AT, ON = makers.NOON, makers.TODAY
TESSA, IDA = Actor("staff", "1"), Actor("staff", "2")


@pytest.fixture(autouse=True)
def folder(settings: Settings, tmp_path: Path) -> None:
    settings.STORAGES = files.storages_in(tmp_path)


@pytest.fixture
def order() -> WorkOrder:
    """A cylinder that is taken down for a visual inspection."""
    made = makers.receive(services=("visual",))
    makers.take_down(made)
    return made


def look(order: WorkOrder, sight: str = "indication", **changes: object) -> Inspection:
    seen: dict[str, object] = {
        "standard": "CGA C-6.1",
        "internal": "pass",
        "external": "pass",
        "threads": "pass",
        "sticker_removed": True,
        "eddy_current": sight,
        "eddy_equipment": "EC 2",
        "eddy_ring": "R 7",
    }
    made = Look(**(seen | changes))  # type: ignore[arg-type] # a test's own table of fields
    return inspection.record(work_order_id=order.pk, look=made, on=ON, at=AT, by=TESSA)


def again(order: WorkOrder, seen: str = "clear", by: Actor = IDA, **changes: object) -> Inspection:
    made = SecondLook(**({"seen": seen, "notes": "cleaned it, scanned twice"} | changes))  # type: ignore[arg-type] # the same
    return second_look.record(work_order_id=order.pk, again=made, on=ON, at=AT, by=by)


def stage(order: WorkOrder) -> str:
    order.refresh_from_db()
    return str(order.stage)


def code_of(action: object, **more: object) -> str:
    with pytest.raises(Refused) as refused:
        action(**more)  # type: ignore[operator] # whichever operation the table names
    return refused.value.code


@pytest.mark.parametrize(
    ("first", "second", "outcome"),
    [
        (Sight.CLEAR, None, Outcome.OK),
        (Sight.INDICATION, None, Outcome.UNKNOWN),
        (Sight.INDICATION, Sight.INDICATION, Outcome.UNKNOWN),
        (Sight.INDICATION, Sight.CLEAR, Outcome.CAUTION),
        (Sight.INDICATION, Sight.CRACK, Outcome.FAIL),
        (Sight.CRACK, None, Outcome.FAIL),
        (Sight.CRACK, Sight.CLEAR, Outcome.FAIL),
        (Sight.CLEAR, Sight.CRACK, Outcome.FAIL),
    ],
)
def test_what_two_people_saw_is_judged(
    first: Sight, second: Sight | None, outcome: Outcome
) -> None:
    finding = judge_sights(first, second)
    assert finding.outcome is outcome
    if outcome in (Outcome.UNKNOWN, Outcome.CAUTION):
        assert finding.cites.certainty is Certainty.COMMON_PRACTICE


def test_a_neck_that_shows_nothing_passes_and_renews_no_thread_examination(
    order: WorkOrder,
) -> None:
    assert look(order, "clear").result == "passed"
    assert stage(order) == "inspected"
    cylinder = makers.cylinder_of(order)
    assert cylinder.last_visual == "2026-11"
    assert cylinder.last_thread_examination == ""
    assert verify().problems == ()


def test_an_indication_leaves_everything_where_it_was_and_stops_the_visit(
    order: WorkOrder,
) -> None:
    lab = makers.make_lab()
    assert look(order).result == "waiting"
    assert stage(order) == "torn_down"
    cylinder = makers.cylinder_of(order)
    assert (cylinder.last_visual, cylinder.life) == ("2025-11", "in_service")
    now = {"work_order_id": order.pk, "at": AT, "by": TESSA}
    waits = {
        code_of(consignment.pack, lab_id=lab.pk, **now),
        code_of(oxygen.clean, method="soap", on=ON, **now),
        code_of(handover.withdraw, reason="in a hurry", **now),
        code_of(look, order=order, sight="clear"),
    }
    assert waits == {"second_look_waits"}
    out_of_order = {
        code_of(reassembly.finish, **now),
        code_of(handover.call_ready, **now),
        code_of(handover.hand_over, to_owner=True, **now),
    }
    assert out_of_order == {"step_out_of_order"}
    assert verify().problems == ()


def test_a_packed_cylinder_with_an_indication_does_not_leave(order: WorkOrder) -> None:
    lab = makers.make_lab()
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=AT, by=TESSA)
    look(order)
    code = code_of(
        consignment.send,
        consignment_id=line.consignment_id,
        carrier="van",
        on=ON,
        at=AT,
        by=TESSA,
    )
    assert code == "second_look_waits"
    assert stage(order) == "torn_down"


def test_the_second_person_is_another_person(order: WorkOrder) -> None:
    look(order)
    assert code_of(again, order=order, by=TESSA) == "same_person"
    assert code_of(again, order=order, by=Actor("service", "sweep")) == "same_person"
    assert code_of(again, order=order, by=Actor("lab", "2")) == "same_person"
    assert stage(order) == "torn_down"
    assert again(order).result == "passed"
    assert stage(order) == "inspected"
    assert makers.cylinder_of(order).last_visual == "2026-11"
    [event] = [e for e in history.timeline(order.cylinder_id) if e.kind is Kind.SECOND_LOOKED]
    assert event.by == "staff:2"
    assert event.facts["seen"] == "clear"
    assert verify().problems == ()
    assert code_of(again, order=order) == "step_out_of_order"


def test_a_crack_condemns(order: WorkOrder) -> None:
    look(order)
    assert again(order, "crack").result == "condemned"
    assert stage(order) == "condemned"
    assert makers.cylinder_of(order).life == "condemned"
    assert verify().problems == ()


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"seen": "indication"}, "bad_value"),
        ({"seen": "fine"}, "bad_value"),
        ({"notes": "  "}, "no_reason"),
    ],
)
def test_half_a_second_look_is_refused(
    order: WorkOrder, changes: dict[str, str], code: str
) -> None:
    assert code_of(again, order=order) == "nothing_waits"
    look(order)
    assert code_of(again, order=order, **changes) == code
    assert stage(order) == "torn_down"


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"sight": "crack"}, "bad_value"),
        ({"sight": "clear", "eddy_ring": ""}, "no_equipment"),
        ({"sight": "indication", "eddy_equipment": " "}, "no_equipment"),
        ({"sight": "", "trace": 1}, "no_sight"),
    ],
)
def test_half_an_examination_is_refused(
    order: WorkOrder, changes: dict[str, object], code: str
) -> None:
    assert code_of(look, order=order, **changes) == code
    assert not Inspection.objects.exists()


def test_what_failed_ends_at_once_whatever_the_neck_shows(order: WorkOrder) -> None:
    done = look(order, internal="fail", ending="rejected", notes="rust")
    assert done.result == "rejected"
    assert stage(order) == "rejected"


def test_a_cylinder_that_waits_can_be_condemned_or_rejected_by_hand(order: WorkOrder) -> None:
    makers.technician_one()
    look(order)
    condemnation.reject(work_order_id=order.pk, reason="no second person", at=AT, by=TESSA)
    assert stage(order) == "rejected"
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=AT, by=TESSA)
    assert verify().problems == ()


def test_the_traces_of_both_looks_belong_to_the_inspection(order: WorkOrder) -> None:
    traces = [
        filing.keep(filing.Content(files.paper(text), "application/pdf"), at=AT).pk
        for text in ("first", "second")
    ]
    done = look(order, trace=traces[0])
    again(order, trace=traces[1])
    kept = done.attachments.order_by("pk")
    assert [one.file_id for one in kept] == traces
    assert {one.kind for one in kept} == {FileKind.TRACE}
    assert verify().problems == ()


def test_the_owner_is_told_that_it_waits_and_what_came_of_it(order: WorkOrder) -> None:
    look(order)
    zone = zone_of(None)
    titles = [m.title for m in story_of(order.cylinder, on=ON, zone=zone).visits[0].moments]
    assert titles[0] == "Our inspection waits for a second person's look"
    assert story_of(order.cylinder, on=ON, zone=zone).inspections[0].tone == "unknown"
    again(order)
    titles = [m.title for m in story_of(order.cylinder, on=ON, zone=zone).visits[0].moments]
    assert titles[0] == "A second person looked, and passed it"


def test_a_history_from_before_there_was_eddy_current_at_the_bench_still_tells(
    order: WorkOrder,
) -> None:
    done = look(order, "clear", eddy_current="", eddy_equipment="", eddy_ring="")
    assert done.result == "passed"
    [event] = [e for e in history.timeline(order.cylinder_id) if e.kind is Kind.INSPECTED]
    old = {k: v for k, v in event.facts.items() if not k.startswith("eddy_")}

    received = history.timeline(order.cylinder_id)[0]
    told = tell([(received.kind, received.facts), (event.kind, old)])
    assert told.inspections[done.pk]["eddy_current"] == ""
    assert told.inspections[done.pk]["result"] == "passed"
