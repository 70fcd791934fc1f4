"""Each bench step leaves one event and agreeing rows, or is refused and leaves nothing."""

import datetime as dt
import json
from collections.abc import Callable

import pytest

from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.models import Consignment, Cylinder, Lab, Part, WorkOrder
from cylinders.operations import (
    condemnation,
    consignment,
    correction,
    handover,
    inspection,
    intake,
    oxygen,
    reassembly,
    retest,
    teardown,
)
from cylinders.queries.verification import verify
from cylinders.rules import judgement
from cylinders.rules.refusal import Refused
from tests import makers

pytestmark = pytest.mark.django_db

BY = Actor("staff", "1")
AT = makers.NOON
ON = makers.TODAY
GOOD_LOOK = inspection.Look(
    standard="CGA C-6.1",
    internal="pass",
    external="pass",
    threads="pass",
    sticker_removed=True,
)


def kinds(order: WorkOrder) -> list[Kind]:
    return [entry.kind for entry in history.timeline(order.cylinder_id)]


def refused(code: str, action: Callable[[], object]) -> Refused:
    before = history.events_held()
    with pytest.raises(Refused) as refusal:
        action()
    assert refusal.value.code == code
    assert refusal.value.says.endswith((".", "?"))
    assert history.events_held() == before
    assert verify().ok
    return refusal.value


def a_visit_at_the_lab(
    services: tuple[str, ...] = ("requalification", "visual", "fill"),
) -> WorkOrder:
    order = makers.receive(services=services)
    makers.take_down(order)
    line = consignment.pack(work_order_id=order.pk, lab_id=makers.make_lab().pk, at=AT, by=BY)
    consignment.send(consignment_id=line.consignment_id, carrier="van 2", on=ON, at=AT, by=BY)
    return order


def test_a_first_visit_registers_the_cylinder_as_it_was_read() -> None:
    order = makers.receive()
    cylinder = makers.cylinder_of(order)
    assert (cylinder.specification, cylinder.serial) == ("3AL", "KX40417")
    assert cylinder.stamp_text == makers.STAMP
    assert kinds(order) == [Kind.RECEIVED]
    assert verify().ok


def test_a_cylinder_in_the_house_is_not_received_twice() -> None:
    order = makers.receive()
    arrival = intake.Arrival(services=("visual",))
    refused(
        "visit_open",
        lambda: intake.receive_again(cylinder_id=order.cylinder_id, arrival=arrival, at=AT, by=BY),
    )


def test_two_cylinders_with_one_serial_are_two_cylinders() -> None:
    owner = makers.make_customer()
    assert makers.receive(owner).cylinder_id != makers.receive(owner).cylinder_id
    assert Cylinder.objects.filter(serial="KX40417").count() == 2


def test_an_unknown_service_or_owner_is_refused() -> None:
    order = makers.receive()
    newcomer = intake.Newcomer(makers.make_markings())
    refused(
        "unknown_customer",
        lambda: intake.receive_new(
            newcomer=newcomer, owner_id=0, arrival=intake.Arrival(), at=AT, by=BY
        ),
    )
    arrival = intake.Arrival(services=("polishing",))
    refused(
        "unknown_service",
        lambda: intake.receive_again(cylinder_id=order.cylinder_id, arrival=arrival, at=AT, by=BY),
    )


def test_condemning_marks_send_a_visit_to_its_exit_at_once() -> None:
    order = intake.receive_new(
        newcomer=intake.Newcomer(makers.make_markings(), condemned_by_marks=True),
        owner_id=makers.make_customer().pk,
        arrival=intake.Arrival(),
        at=AT,
        by=BY,
    )
    assert order.stage == "condemned"
    refused(
        "step_out_of_order",
        lambda: teardown.prove_empty(work_order_id=order.pk, how="no hiss", at=AT, by=BY),
    )


def test_the_valve_stays_in_until_the_cylinder_is_proven_empty() -> None:
    order = makers.receive()
    valve = teardown.Removal(kind="valve", thread="3/4-14 NPSM")
    refused(
        "not_proven_empty",
        lambda: teardown.remove_part(work_order_id=order.pk, removal=valve, at=AT, by=BY),
    )
    teardown.prove_empty(work_order_id=order.pk, how="valve open, no hiss", at=AT, by=BY)
    teardown.remove_part(work_order_id=order.pk, removal=valve, at=AT, by=BY)
    assert kinds(order)[1:] == [Kind.PROVEN_EMPTY, Kind.PART_REMOVED]


@pytest.mark.parametrize(
    ("removal", "code"),
    [
        (teardown.Removal(kind="wing nut"), "unknown_part_kind"),
        (teardown.Removal(kind="other"), "part_without_name"),
        (teardown.Removal(kind="valve"), "thread_missing"),
    ],
)
def test_a_part_that_could_not_be_told_apart_is_refused(
    removal: teardown.Removal, code: str
) -> None:
    order = makers.receive()
    teardown.prove_empty(work_order_id=order.pk, how="no hiss", at=AT, by=BY)
    refused(
        code,
        lambda: teardown.remove_part(work_order_id=order.pk, removal=removal, at=AT, by=BY),
    )


def test_emptiness_is_proven_once_and_in_words() -> None:
    order = makers.receive()
    refused(
        "how_empty", lambda: teardown.prove_empty(work_order_id=order.pk, how=" ", at=AT, by=BY)
    )
    teardown.prove_empty(work_order_id=order.pk, how="no hiss", at=AT, by=BY)
    refused(
        "already_empty",
        lambda: teardown.prove_empty(work_order_id=order.pk, how="no hiss", at=AT, by=BY),
    )


def test_a_teardown_closes_only_when_it_is_complete() -> None:
    order = makers.receive()

    def finish(outside: str = "sound", *, plug: bool = True) -> WorkOrder:
        return teardown.finish(
            work_order_id=order.pk, outside=outside, travel_plug=plug, at=AT, by=BY
        )

    refused("not_proven_empty", finish)
    teardown.prove_empty(work_order_id=order.pk, how="no hiss", at=AT, by=BY)
    refused("outside_not_sound", lambda: finish("dent below the shoulder"))
    refused("no_travel_plug", lambda: finish(plug=False))
    refused("no_valve", finish)
    valve = teardown.Removal(kind="valve", thread="3/4-14 NPSM")
    teardown.remove_part(work_order_id=order.pk, removal=valve, at=AT, by=BY)
    assert finish().stage == "torn_down"
    refused("step_out_of_order", finish)


def test_a_run_to_the_lab_and_back_moves_every_cylinder_in_it() -> None:
    order = a_visit_at_the_lab()
    order.refresh_from_db()
    assert order.stage == "at_lab"
    consignment.take_back(work_order_id=order.pk, at=AT, by=BY)
    assert kinds(order)[-3:] == [Kind.PACKED, Kind.SENT, Kind.RETURNED]
    assert Consignment.objects.get().closed_at == AT
    assert verify().ok


def test_a_consignment_is_refused_without_carrier_content_or_a_number_in_force() -> None:
    order = makers.receive()
    makers.take_down(order)
    lab = makers.make_lab()
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=AT, by=BY)

    def send(carrier: str = "van 2", on: dt.date = ON) -> Consignment:
        return consignment.send(
            consignment_id=line.consignment_id, carrier=carrier, on=on, at=AT, by=BY
        )

    refused(
        "already_packed",
        lambda: consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=AT, by=BY),
    )
    refused("no_carrier", lambda: send(" "))
    refused("rin_expired", lambda: send(on=lab.rin_valid_until + dt.timedelta(days=1)))
    send(on=lab.rin_valid_until)
    refused("nothing_to_send", send)


def test_a_packed_cylinder_that_stays_here_leaves_its_run_and_does_not_keep_it() -> None:
    lab, owner = makers.make_lab(), makers.make_customer()
    staying, going = makers.receive(owner), makers.receive(owner)
    for order in (staying, going):
        makers.take_down(order)
        line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=AT, by=BY)
    handover.withdraw(work_order_id=staying.pk, reason="sold it as it is", at=AT, by=BY)
    run = consignment.send(consignment_id=line.consignment_id, carrier="van 2", on=ON, at=AT, by=BY)
    assert list(run.lines.values_list("work_order_id", flat=True)) == [going.pk]
    assert WorkOrder.objects.get(pk=staying.pk).stage == "withdrawn"
    assert verify().ok


def test_a_run_that_nothing_is_left_in_is_not_sent() -> None:
    order = makers.receive()
    makers.take_down(order)
    line = consignment.pack(work_order_id=order.pk, lab_id=makers.make_lab().pk, at=AT, by=BY)
    handover.withdraw(work_order_id=order.pk, reason="sold it as it is", at=AT, by=BY)
    refused(
        "empty_consignment",
        lambda: consignment.send(
            consignment_id=line.consignment_id, carrier="van 2", on=ON, at=AT, by=BY
        ),
    )


def test_a_twin_set_has_two_cylinders() -> None:
    order = makers.receive()
    teardown.prove_empty(work_order_id=order.pk, how="valve open, no hiss", at=AT, by=BY)

    def take_off(twin: int) -> Part:
        removal = teardown.Removal(kind="manifold", thread="3/4-14 NPSM", shared_with=twin)
        return teardown.remove_part(work_order_id=order.pk, removal=removal, at=AT, by=BY)

    refused("own_twin", lambda: take_off(order.cylinder_id))
    refused("unknown_twin", lambda: take_off(order.cylinder_id + 1000))
    assert verify().ok


def test_an_inspection_waits_for_the_record_and_the_stamp() -> None:
    order = makers.receive()
    makers.take_down(order)

    def inspect(look: inspection.Look = GOOD_LOOK) -> object:
        return inspection.record(work_order_id=order.pk, look=look, on=ON, at=AT, by=BY)

    refused("not_tested", inspect)
    lab = makers.make_lab()
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=AT, by=BY)
    consignment.send(consignment_id=line.consignment_id, carrier="van", on=ON, at=AT, by=BY)
    consignment.take_back(work_order_id=order.pk, at=AT, by=BY)
    refused("no_record", inspect)


@pytest.mark.parametrize(
    ("look", "code"),
    [
        (inspection.Look("", "pass", "pass", "pass", sticker_removed=True), "no_standard"),
        (inspection.Look("C-6", "good", "pass", "pass", sticker_removed=True), "bad_value"),
        (inspection.Look("C-6", "pass", "not_done", "pass", sticker_removed=True), "not_complete"),
        (inspection.Look("C-6", "pass", "pass", "pass", sticker_removed=False), "old_sticker"),
        (inspection.Look("C-6", "fail", "pass", "pass", sticker_removed=True), "no_ending"),
        (
            inspection.Look("C-6", "fail", "pass", "pass", sticker_removed=True, ending="rejected"),
            "no_reason",
        ),
    ],
)
def test_an_incomplete_inspection_is_refused(look: inspection.Look, code: str) -> None:
    order = makers.receive(services=("visual",))
    makers.take_down(order)
    refused(
        code,
        lambda: inspection.record(work_order_id=order.pk, look=look, on=ON, at=AT, by=BY),
    )


@pytest.mark.parametrize("ending", inspection.ENDINGS)
def test_a_failed_inspection_ends_the_cylinders_service(ending: str) -> None:
    order = makers.receive(services=("visual",))
    makers.take_down(order)
    look = inspection.Look(
        standard="CGA C-6.1",
        internal="fail",
        external="pass",
        threads="pass",
        sticker_removed=False,
        ending=ending,
        notes="pits in a line below the shoulder",
    )
    inspection.record(work_order_id=order.pk, look=look, on=ON, at=AT, by=BY)
    assert makers.cylinder_of(order).life == ending
    assert makers.cylinder_of(order).last_visual == "2025-11"
    assert verify().ok


def test_a_passed_inspection_renews_the_visual() -> None:
    order = makers.receive(services=("visual",))
    makers.take_down(order)
    inspection.record(work_order_id=order.pk, look=GOOD_LOOK, on=ON, at=AT, by=BY)
    assert makers.cylinder_of(order).last_visual == "2026-11"
    assert verify().ok


def test_oxygen_cleanness_is_given_and_lost_in_words() -> None:
    order = makers.receive(services=("visual",))
    makers.take_down(order)
    oxygen.clean(work_order_id=order.pk, method="wiped, UV light", on=ON, at=AT, by=BY)
    assert makers.cylinder_of(order).oxygen_clean is True
    pk = order.cylinder_id
    refused("no_reason", lambda: oxygen.break_clean(cylinder_id=pk, why="", at=AT, by=BY))
    oxygen.break_clean(cylinder_id=pk, why="filled from an oil-lubricated compressor", at=AT, by=BY)
    assert makers.cylinder_of(order).oxygen_clean is False
    refused("not_clean", lambda: oxygen.break_clean(cylinder_id=pk, why="again", at=AT, by=BY))


def test_a_condemned_cylinder_leaves_with_its_bags_and_is_never_worked_on_again() -> None:
    makers.technician_one()
    order = makers.receive(services=("visual",))
    makers.take_down(order)
    condemnation.condemn(
        work_order_id=order.pk,
        reason="crack through three threads of the neck",
        marked="X over 3AL and 3000 by the lab Z999",
        at=AT,
        by=BY,
    )
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=AT, by=BY)
    told = set(Part.objects.values_list("whereabouts", "settled_by__username"))
    assert told == {("accounted", "tessa")}
    again = intake.receive_again(
        cylinder_id=order.cylinder_id, arrival=intake.Arrival(), at=AT, by=BY
    )
    assert again.stage == "condemned"
    assert verify().ok


def test_rejecting_and_condemning_need_their_reason_and_a_cylinder_that_is_here() -> None:
    order = a_visit_at_the_lab()

    def condemn(reason: str = "crack", marked: str = "CONDEMNED by Z999") -> object:
        return condemnation.condemn(
            work_order_id=order.pk, reason=reason, marked=marked, at=AT, by=BY
        )

    refused("at_lab", condemn)
    consignment.take_back(work_order_id=order.pk, at=AT, by=BY)
    refused("no_reason", lambda: condemn(reason=" "))
    refused("no_reason", lambda: condemn(marked=" "))
    condemnation.reject(work_order_id=order.pk, reason="foot ring loose", at=AT, by=BY)
    condemn()
    assert makers.cylinder_of(order).life == "condemned"
    assert verify().ok


def test_a_ready_cylinder_that_was_condemned_since_is_not_handed_over_as_ready() -> None:
    makers.technician_one()
    order = a_visit_at_the_lab(services=("visual",))
    consignment.take_back(work_order_id=order.pk, at=AT, by=BY)
    inspection.record(work_order_id=order.pk, look=GOOD_LOOK, on=ON, at=AT, by=BY)
    for part in order.parts.all():
        reassembly.account_part(
            work_order_id=order.pk, part_id=part.pk, how="replaced", note="new", at=AT, by=BY
        )
    reassembly.finish(work_order_id=order.pk, at=AT, by=BY)
    handover.call_ready(work_order_id=order.pk, at=AT, by=BY)
    over = {"value": "7.1", "unit": "cc"}
    text = json.dumps(makers.record_body(permanent_expansion=over, elastic_expansion=None))
    late = retest.receive_record(
        lab_id=Lab.objects.get().pk,
        cylinder_id=order.cylinder_id,
        body=judgement.parse(judgement.loads(text)),
        body_text=text,
        on=ON,
        at=AT,
        by=Actor("lab", "1"),
    )
    assert late.record.verdict == "condemned"
    refused(
        "cylinder_condemned",
        lambda: handover.hand_over(work_order_id=order.pk, to_owner=True, at=AT, by=BY),
    )


def test_a_withdrawn_cylinder_is_handed_over_as_it_is() -> None:
    order = makers.receive()
    refused("no_reason", lambda: handover.withdraw(work_order_id=order.pk, reason="", at=AT, by=BY))
    handover.withdraw(work_order_id=order.pk, reason="moving away", at=AT, by=BY)
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=AT, by=BY)
    assert kinds(order) == [Kind.RECEIVED, Kind.WITHDRAWN, Kind.COLLECTED]
    assert verify().ok


def test_a_new_owner_is_recorded_by_number_alone() -> None:
    order = makers.receive(makers.make_customer("Odo Quill"))
    heir = makers.make_customer("Petra Moor")
    handover.change_owner(cylinder_id=order.cylinder_id, owner_id=heir.pk, at=AT, by=BY)
    facts = history.timeline(order.cylinder_id)[-1].facts
    assert facts == {"was": order.customer_id, "becomes": heir.pk}
    refused(
        "same_owner",
        lambda: handover.change_owner(
            cylinder_id=order.cylinder_id, owner_id=heir.pk, at=AT, by=BY
        ),
    )


def test_a_correction_keeps_the_wrong_value_in_the_history() -> None:
    order = makers.receive()
    pk = order.cylinder_id

    def correct(field: str, becomes: str, reason: str = "read again under the lamp") -> Cylinder:
        return correction.correct_marking(
            cylinder_id=pk, field=field, becomes=becomes, reason=reason, at=AT, by=BY
        )

    correct("serial", "KX40477")
    assert history.timeline(pk)[-1].facts["was"] == "KX40417"
    refused("nothing_changes", lambda: correct("serial", "KX40477"))
    refused("unknown_marking", lambda: correct("life", "in_service"))
    refused("no_reason", lambda: correct("serial", "KX1", " "))
    refused("bad_value", lambda: correct("requalified", "11/21"))
    refused("bad_value", lambda: correct("service_pressure", "three thousand"))
    refused("bad_value", lambda: correct("pressure_unit", "bananas"))
    refused("bad_value", lambda: correct("serial", "7" * 61))


def test_an_order_that_never_was_is_refused() -> None:
    refused("unknown_order", lambda: handover.call_ready(work_order_id=77, at=AT, by=BY))
