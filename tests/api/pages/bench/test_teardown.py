import pytest

from cylinders.facts import Actor
from cylinders.models import WorkOrder
from labels.models import Tag
from labels.operations import binding
from labels.operations.binding import Thing
from labels.operations.minting import mint
from tests import makers
from tests.api.pages.bench.desk import Desk


@pytest.fixture
def order(desk: Desk) -> WorkOrder:
    """A cylinder that was dropped off."""
    order = makers.receive()
    desk.open(f"/bench/orders/{order.pk}/teardown/")
    return order


def _page(order: WorkOrder, part: str = "") -> str:
    return f"/bench/orders/{order.pk}/teardown/" + (f"?part={part}" if part else "")


def _off(desk: Desk, order: WorkOrder, kind: str, **typed: str) -> None:
    desk.open(_page(order, kind)).press("part", **typed)


def test_the_valve_is_not_offered_before_the_cylinder_is_empty(
    desk: Desk, order: WorkOrder
) -> None:
    assert "Full pressure can kill" in desk.text
    assert '"?part=valve' not in desk.response.content.decode()
    desk.open(_page(order, "valve"))
    with pytest.raises(LookupError, match="no form does part"):
        desk.filled("part")


def test_empty_needs_the_tick_of_whoever_looked(desk: Desk, order: WorkOrder) -> None:
    assert desk.press("empty").status == 422
    assert "listen and feel; then tick" in desk.text
    order.refresh_from_db()
    assert not order.proven_empty


def test_a_valve_without_its_thread_is_refused(desk: Desk, order: WorkOrder) -> None:
    desk.press("empty", drained="on")
    _off(desk, order, "valve", serial="V1")
    assert desk.status == 409
    assert "Read the thread off the valve" in desk.text
    assert 'value="V1"' in desk.response.content.decode()


def test_a_thread_of_no_tile_is_written(desk: Desk, order: WorkOrder) -> None:
    desk.press("empty", drained="on")
    _off(desk, order, "valve", thread="other", other_thread="G3/4")
    assert order.parts.get().thread == "G3/4"


def test_another_part_needs_a_name(desk: Desk, order: WorkOrder) -> None:
    _off(desk, order, "other")
    assert desk.status == 409
    assert "Give the part a name" in desk.text


@pytest.mark.parametrize("seen", ["dent", "bulge", "arc or heat marks", "corrosion"])
def test_what_is_seen_outside_ends_the_trip(desk: Desk, order: WorkOrder, seen: str) -> None:
    desk.press("empty", drained="on")
    _off(desk, order, "valve", thread="M25x2")
    desk.open(_page(order)).press("finish", outside=seen, travel_plug="on")
    assert desk.status == 409
    assert f"Seen outside: {seen}" in desk.text
    order.refresh_from_db()
    assert order.stage == "received"


def test_without_the_travel_plug_the_teardown_stays_open(desk: Desk, order: WorkOrder) -> None:
    desk.press("empty", drained="on")
    _off(desk, order, "valve", thread="M25x2")
    desk.open(_page(order)).press("finish", outside="sound")
    assert "Put the travel plug in" in desk.text


def test_each_tag_is_printed_once_however_often_it_is_asked_for(
    desk: Desk, order: WorkOrder
) -> None:
    desk.press("empty", drained="on")
    _off(desk, order, "valve", thread="M25x2")
    _off(desk, order, "boot", name="black boot")
    valve = order.parts.get(kind="valve")
    here = _page(order)
    for sent in ({"part": str(valve.pk)}, {"kit": "yes"}, {}):
        for _ in range(2):
            desk.send((here, {"do": "tag"} | sent))
            assert "The tag is ready to print" in desk.text
    assert sorted(Tag.objects.values_list("kind", flat=True)) == ["bag", "kit", "teardown"]


def test_a_part_of_another_visit_gets_no_tag_here(desk: Desk, order: WorkOrder) -> None:
    other = makers.receive(serial="ZZ1")
    [valve, _] = makers.take_down(other)
    assert desk.send((_page(order), {"do": "tag", "part": str(valve.pk)})).status == 409
    assert not Tag.objects.exists()


def test_a_manifold_joins_two_cylinders_by_the_other_one_s_tag(
    desk: Desk, order: WorkOrder
) -> None:
    twin = makers.receive(serial="ZZ1")
    thing = Thing.cylinder(twin.cylinder)
    tag = binding.issue(thing=thing, host="CYL.EXAMPLE", at=makers.NOON, by=Actor("staff", "1"))
    desk.press("empty", drained="on")
    _off(desk, order, "manifold", thread="M25x2", shared="7K2M9QX4WBTCK")
    assert desk.status == 409
    assert "The other cylinder: No tag of this house" in desk.text
    desk.press("part", thread="M25x2", shared=tag.code)
    assert order.parts.get().shared_with == twin.cylinder


def test_a_blank_tag_is_scanned_onto_the_part_that_just_came_off(
    desk: Desk, order: WorkOrder
) -> None:
    blank, other = mint(count=2, host="CYL.EXAMPLE", at=makers.NOON)
    desk.press("empty", drained="on")
    _off(desk, order, "valve", thread="M25x2")
    assert "Scan a blank tag for the valve" in desk.text
    filled = desk.filled("bind", code=blank.code.lower())
    desk.send(filled)
    assert "BOUND" in desk.send(filled).text, "a second tap is told the same"
    valve = order.parts.get()
    assert valve.tags.get() == blank
    _off(desk, order, "boot")
    desk.press("bind", code=blank.code)
    assert "in use already" in desk.text
    assert desk.open(_page(order)).press("bind", code="https://evil.example").status == 200
    assert "NOT OUR TAG" in desk.text
    desk.press("bind", code=other.code)
    assert order.parts.get(kind="boot").tags.get() == other


def test_after_the_teardown_the_page_shows_what_was_done_and_what_is_next(
    desk: Desk, order: WorkOrder
) -> None:
    makers.take_down(order)
    desk.open(_page(order))
    assert "The teardown of this visit is closed" in desk.text
    assert "Next: Pack it for the lab" in desk.text
    with pytest.raises(LookupError):
        desk.filled("finish")
