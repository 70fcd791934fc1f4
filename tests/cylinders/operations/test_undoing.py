"""A scan too many is undone by an event of its own, as long as nothing was built upon it."""

from collections.abc import Callable

import pytest

from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.models import Consignment, Part, WorkOrder
from cylinders.operations import consignment, inspection, reassembly, stamp, teardown, undoing
from cylinders.queries.verification import verify
from tests import makers
from tests.cylinders.operations.test_bench_steps import (
    GOOD_LOOK,
    a_visit_at_the_lab,
    kinds,
    refused,
)
from tests.cylinders.operations.test_fitting import inspected, offer
from tests.faults import worlds

pytestmark = pytest.mark.django_db

BY = Actor("staff", "1")
AT, ON = makers.NOON, makers.TODAY


def unfit(order: WorkOrder, part: Part) -> Callable[[], Part]:
    return lambda: undoing.unfit_part(work_order_id=order.pk, part_id=part.pk, at=AT, by=BY)


def test_a_fitted_part_goes_back_to_its_bag_and_may_be_fitted_again() -> None:
    order, [valve, boot] = inspected()
    offer(order, valve)
    undone = unfit(order, valve)()
    assert (undone.whereabouts, undone.settled_how, undone.settled_by) == ("bagged", "", None)
    assert history.timeline(order.cylinder_id)[-1].kind == Kind.PART_UNFITTED
    assert verify().ok
    assert offer(order, valve).fits
    refused("not_fitted", unfit(order, boot))
    assert verify().ok


def test_what_is_not_of_this_visit_or_closed_is_not_undone() -> None:
    order, [valve, boot] = inspected("A1")
    other, _parts = inspected("A2")
    for part in (valve, boot):
        offer(order, part)
    refused("unknown_part", unfit(other, valve))
    reassembly.finish(work_order_id=order.pk, at=AT, by=BY)
    refused("step_out_of_order", unfit(order, valve))


@pytest.mark.parametrize("at_the_twin", [True, False])
def test_a_part_of_a_twin_set_is_undone_in_every_history_that_has_it(*, at_the_twin: bool) -> None:
    left, _parts = inspected("T1")
    makers.technician_one()
    right = makers.receive(services=("visual",), serial="T2")
    teardown.prove_empty(work_order_id=right.pk, how="no hiss", at=AT, by=BY)
    shared = teardown.Removal(kind="manifold", thread="3/4-14 NPSM", shared_with=left.cylinder_id)
    manifold = teardown.remove_part(work_order_id=right.pk, removal=shared, at=AT, by=BY)
    teardown.finish(work_order_id=right.pk, outside="sound", travel_plug=True, at=AT, by=BY)
    inspection.record(work_order_id=right.pk, look=GOOD_LOOK, on=ON, at=AT, by=BY)
    assert offer(left if at_the_twin else right, manifold).fits
    unfit(right, manifold)()
    assert history.state(right.cylinder_id).parts[manifold.pk] == "bagged"
    assert history.state(left.cylinder_id).parts.get(manifold.pk) in ("bagged", None)
    assert verify().ok
    assert offer(left, manifold).fits


def test_a_cylinder_is_taken_out_of_the_run_that_is_being_packed() -> None:
    order = makers.receive()
    makers.take_down(order)
    lab = makers.make_lab()

    def unpack() -> WorkOrder:
        return undoing.unpack(work_order_id=order.pk, at=AT, by=BY)

    refused("not_packed", unpack)
    consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=AT, by=BY)
    unpack()
    assert not order.lines.exists()
    assert kinds(order)[-2:] == [Kind.PACKED, Kind.UNPACKED]
    consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=AT, by=BY)
    run = Consignment.objects.get()
    consignment.send(consignment_id=run.pk, carrier="van 2", on=ON, at=AT, by=BY)
    refused("step_out_of_order", unpack)
    assert verify().ok


def test_a_cylinder_scanned_home_by_mistake_is_at_the_lab_again() -> None:
    order = a_visit_at_the_lab()

    def undo() -> WorkOrder:
        return undoing.undo_return(work_order_id=order.pk, at=AT, by=BY)

    refused("step_out_of_order", undo)
    consignment.take_back(work_order_id=order.pk, at=AT, by=BY)
    assert undo().stage == "at_lab"
    assert Consignment.objects.get().closed_at is None
    assert kinds(order)[-2:] == [Kind.RETURNED, Kind.RETURN_UNDONE]
    assert verify().ok
    consignment.take_back(work_order_id=order.pk, at=AT, by=BY)
    assert Consignment.objects.get().closed_at == AT


def test_a_cylinder_whose_stamp_was_compared_is_here() -> None:
    order = worlds.home()
    stamp.compare_stamp(work_order_id=order.pk, typed="11 Z9/99 26", on=ON, at=AT, by=BY)
    refused("stamp_compared", lambda: undoing.undo_return(work_order_id=order.pk, at=AT, by=BY))
