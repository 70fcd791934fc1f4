"""Reassembly: the right part fits once, every other scan is refused, kept and explained."""

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.models import Part, WorkOrder
from cylinders.operations import fitting, inspection, reassembly, teardown
from cylinders.queries.verification import verify
from cylinders.rules.refusal import Refused
from tests import makers
from tests.cylinders.operations.test_bench_steps import GOOD_LOOK, refused

pytestmark = pytest.mark.django_db

BY = Actor("staff", "1")
AT, ON = makers.NOON, makers.TODAY


def inspected(serial: str = "KX40417", **changes: Any) -> tuple[WorkOrder, list[Part]]:
    makers.technician_one()
    order = makers.receive(services=("visual",), serial=serial, **changes)
    parts = makers.take_down(order)
    inspection.record(work_order_id=order.pk, look=GOOD_LOOK, on=ON, at=AT, by=BY)
    return order, parts


def offer(order: WorkOrder, part: Part | None, tag_state: str = "live") -> fitting.Offer:
    return fitting.offer_part(
        work_order_id=order.pk,
        part_id=part.pk if part else None,
        scanned="7K2M9QX4WBTCK",
        tag_state=tag_state,
        at=AT,
        by=BY,
    )


def test_a_part_fits_its_own_cylinder() -> None:
    order, [valve, _boot] = inspected()
    answer = offer(order, valve)
    assert (answer.fits, answer.code) == (True, "match")
    valve.refresh_from_db()
    assert valve.whereabouts == "fitted"
    assert history.timeline(order.cylinder_id)[-1].kind == Kind.PART_FITTED
    assert verify().ok


def test_a_part_of_another_cylinder_is_refused_and_the_right_one_named() -> None:
    order, _parts = inspected("A1")
    _other, [stranger, _boot] = inspected("A2")
    answer = offer(order, stranger)
    assert (answer.fits, answer.code) == (False, "wrong_cylinder")
    assert answer.belongs_to == stranger.cylinder
    stranger.refresh_from_db()
    assert stranger.whereabouts == "bagged"
    refusal = history.timeline(order.cylinder_id)[-1]
    assert refusal.kind == Kind.PART_REFUSED
    assert refusal.facts["belongs_to"] == stranger.cylinder_id
    assert verify().ok


def test_a_part_that_is_fitted_already_is_refused_with_who_and_when() -> None:
    order, [valve, _boot] = inspected()
    offer(order, valve)
    answer = offer(order, valve)
    assert (answer.fits, answer.code) == (False, "already_fitted")
    assert (answer.settled_by, answer.settled_at) == ("tessa", AT)


@pytest.mark.parametrize(("tag_state", "code"), [("unknown", "unknown"), ("retired", "retired")])
def test_a_code_that_names_no_part_in_use_is_refused(tag_state: str, code: str) -> None:
    order, [valve, _boot] = inspected()
    answer = offer(order, valve if tag_state == "retired" else None, tag_state)
    assert (answer.fits, answer.code) == (False, code)


def test_a_valve_with_another_thread_is_refused_even_on_its_own_cylinder() -> None:
    order, [valve, _boot] = inspected(neck_thread="M25x2")
    answer = offer(order, valve)
    assert (answer.fits, answer.code) == (False, "other_thread")


@pytest.mark.parametrize("neck", ["", "3/4"])
def test_a_neck_thread_that_nobody_read_refuses_the_valve_and_not_the_boot(neck: str) -> None:
    order, [valve, boot] = inspected(neck_thread=neck)
    assert offer(order, valve).code == "other_thread"
    assert offer(order, boot).fits


def test_a_valve_that_is_not_clean_is_kept_off_an_oxygen_clean_cylinder() -> None:
    order, [valve, boot] = inspected()
    order.cylinder.oxygen_clean = True
    order.cylinder.save(update_fields=["oxygen_clean"])
    assert offer(order, valve).code == "not_oxygen_clean"
    assert offer(order, boot).fits


def test_the_manifold_of_a_twin_set_fits_either_cylinder_once() -> None:
    left, _parts = inspected("T1")
    right = makers.receive(services=("visual",), serial="T2")
    teardown.prove_empty(work_order_id=right.pk, how="no hiss", at=AT, by=BY)
    manifold = teardown.remove_part(
        work_order_id=right.pk,
        removal=teardown.Removal(
            kind="manifold", thread="3/4-14 NPSM", shared_with=left.cylinder_id
        ),
        at=AT,
        by=BY,
    )
    assert offer(left, manifold).fits
    assert offer(left, manifold).code == "already_fitted"
    for order in (left, right):
        assert history.state(order.cylinder_id).parts[manifold.pk] == "fitted"
    assert verify().ok


def test_reassembly_closes_only_with_every_part_fitted_or_accounted_for() -> None:
    order, [valve, boot] = inspected()

    def finish() -> WorkOrder:
        return reassembly.finish(work_order_id=order.pk, at=AT, by=BY)

    def account(how: str = "lost", note: str = "searched wall and van") -> Part:
        return reassembly.account_part(
            work_order_id=order.pk, part_id=boot.pk, how=how, note=note, at=AT, by=BY
        )

    refused("part_unaccounted", finish)
    offer(order, valve)
    refused("part_unaccounted", finish)
    refused("unknown_ending", lambda: account(how="eaten"))
    refused("no_reason", lambda: account(note=" "))
    account()
    refused("not_in_its_bag", account)
    assert finish().stage == "reassembled"
    assert offer_is_out_of_order(order, valve)
    assert verify().ok


def offer_is_out_of_order(order: WorkOrder, part: Part) -> bool:
    with pytest.raises(Refused) as refusal:
        offer(order, part)
    return refusal.value.code == "step_out_of_order"


def test_a_valve_service_is_recorded_with_what_went_in() -> None:
    order, [valve, boot] = inspected()

    def service(part: Part = valve, o_rings: str = "2 x 014 FKM") -> Part:
        return reassembly.service_part(
            work_order_id=order.pk,
            part_id=part.pk,
            o_rings=o_rings,
            lubricant="oxygen-compatible grease",
            oxygen_compatible=True,
            hand_wheel="kept",
            on=ON,
            at=AT,
            by=BY,
        )

    refused("not_a_valve", lambda: service(boot))
    refused("no_o_rings", lambda: service(o_rings=""))
    assert service().serviced == "2026-11"
    assert makers.cylinder_of(order).last_valve_service == "2026-11"
    stranger = inspected("B2")[1][0]
    refused("unknown_part", lambda: service(stranger))


def test_an_oxygen_clean_valve_takes_oxygen_compatible_rings_only() -> None:
    order = makers.receive(services=("visual",))
    teardown.prove_empty(work_order_id=order.pk, how="no hiss", at=AT, by=BY)
    clean = teardown.Removal(kind="valve", thread="3/4-14 NPSM", oxygen_clean=True)
    valve = teardown.remove_part(work_order_id=order.pk, removal=clean, at=AT, by=BY)
    teardown.finish(work_order_id=order.pk, outside="sound", travel_plug=True, at=AT, by=BY)
    refused(
        "not_oxygen_compatible",
        lambda: reassembly.service_part(
            work_order_id=order.pk,
            part_id=valve.pk,
            o_rings="2 x 014",
            lubricant="silicone",
            oxygen_compatible=False,
            hand_wheel="kept",
            on=ON,
            at=AT,
            by=BY,
        ),
    )


@pytest.mark.both_engines
@pytest.mark.django_db(transaction=True)
def test_of_two_people_who_fit_one_bag_at_once_exactly_one_does() -> None:
    order, [valve, _boot] = inspected()
    answers: list[fitting.Offer] = []
    start = threading.Barrier(4)

    def race(action: Callable[[], fitting.Offer]) -> None:
        start.wait()
        try:
            answers.append(action())
        finally:
            connection.close()

    threads = [threading.Thread(target=race, args=(lambda: offer(order, valve),)) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    assert sorted(answer.code for answer in answers) == ["already_fitted"] * 3 + ["match"]
    assert verify().ok
