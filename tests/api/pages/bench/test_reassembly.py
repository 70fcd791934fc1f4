import pytest

from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.models import Cylinder, Part, WorkOrder
from labels.models import Tag
from labels.operations import binding
from labels.operations.binding import Thing
from labels.operations.minting import mint
from tests import makers
from tests.api.pages.bench.desk import Desk

BY = Actor("staff", "1")
HOST = "CYL.EXAMPLE"


def _bench(desk: Desk, serial: str = "KX40417") -> tuple[WorkOrder, Tag, Part]:
    """A visit at reassembly: its order, the valve's bag and the boot."""
    order = makers.receive(services=("visual",), serial=serial)
    valve, boot = makers.take_down(order)
    tag = binding.issue(thing=Thing.bag(valve), host=HOST, at=makers.NOON, by=BY)
    desk.open(f"/bench/orders/{order.pk}/inspection/")
    desk.press("look", internal="pass", external="pass", threads="pass", sticker_removed="on")
    assert desk.path.startswith(f"/bench/orders/{order.pk}/reassembly/")
    return order, tag, boot


def _page(order: WorkOrder) -> str:
    return f"/bench/orders/{order.pk}/reassembly/"


def _refusals(order: WorkOrder) -> list[str]:
    entries = history.timeline(order.cylinder_id)
    return [entry.facts["code"] for entry in entries if entry.kind == Kind.PART_REFUSED]


def test_the_right_bag_is_a_match_and_the_list_gets_shorter(desk: Desk) -> None:
    order, tag, _ = _bench(desk)
    assert "2 still missing" in desk.text
    desk.press("offer", code=tag.code)
    assert "MATCH" in desk.text
    assert "1 still missing" in desk.text
    assert 'class="answer ok"' in desk.response.content.decode()
    assert order.parts.get(kind="valve").whereabouts == "fitted"


def test_another_cylinder_s_bag_is_wrong_and_names_the_right_one(desk: Desk) -> None:
    other, wrong, _ = _bench(desk, "ZZ1")
    order, _, _ = _bench(desk)
    desk.open(_page(order)).press("offer", code=wrong.code)
    assert "WRONG CYLINDER" in desk.text
    assert f"It belongs to {other.cylinder}" in desk.text
    assert 'class="answer fail"' in desk.response.content.decode()
    assert _refusals(order) == ["wrong_cylinder"]
    assert Part.objects.filter(whereabouts="fitted").count() == 0


@pytest.mark.parametrize("text", ["7K2M9QX4WBTCK", "hello", "https://evil.example/x", "<b>x</b>"])
@pytest.mark.sampled(of=3)
def test_an_unknown_bag_is_told_and_kept_as_a_refusal(desk: Desk, text: str) -> None:
    order, _, _ = _bench(desk)
    desk.press("offer", code=text)
    assert "UNKNOWN" in desk.text
    assert "<b>x</b>" not in desk.response.content.decode()
    assert _refusals(order) == ["unknown"]


def test_a_blank_tag_stands_for_no_part(desk: Desk) -> None:
    order, _, _ = _bench(desk)
    [blank] = mint(count=1, host=HOST, at=makers.NOON)
    desk.press("offer", code=blank.code)
    assert _refusals(order) == ["unknown"]


def test_a_fitted_part_is_not_fitted_again_and_its_fitter_is_named(desk: Desk) -> None:
    order, tag, _ = _bench(desk)
    Desk("ida").open(_page(order)).press("offer", code=tag.code)
    desk.press("offer", code=tag.code)
    assert "ALREADY FITTED" in desk.text
    assert "Fitted by ida on 2026-11-25 at 12:00" in desk.text
    assert _refusals(order) == ["already_fitted"]


def test_a_retired_bag_is_refused(desk: Desk) -> None:
    order, tag, _ = _bench(desk)
    binding.retire(code=tag.code, reason="torn", at=makers.NOON, by=BY)
    desk.open(_page(order)).press("offer", code=tag.code)
    assert "RETIRED" in desk.text
    assert _refusals(order) == ["retired"]


def test_a_valve_of_another_thread_is_refused(desk: Desk) -> None:
    order, tag, _ = _bench(desk)
    Cylinder.objects.filter(pk=order.cylinder_id).update(neck_thread="M25x2")
    desk.open(_page(order)).press("offer", code=tag.code)
    assert "OTHER THREAD" in desk.text
    assert order.parts.get(kind="valve").whereabouts == "bagged"


def test_a_dirty_valve_is_kept_off_a_cylinder_for_enriched_gas(desk: Desk) -> None:
    order, tag, _ = _bench(desk)
    Cylinder.objects.filter(pk=order.cylinder_id).update(use_gas="nitrox")
    desk.open(_page(order)).press("offer", code=tag.code)
    assert "NOT OXYGEN CLEAN" in desk.text


def test_the_answers_differ_by_shape_word_and_ground(desk: Desk) -> None:
    _, tag, _ = _bench(desk)
    match = desk.press("offer", code=tag.code).response.content.decode()
    unknown = desk.press("offer", code="7K2M9QX4WBTCK").response.content.decode()
    again = desk.press("offer", code=tag.code).response.content.decode()
    shapes = [
        page.split('class="answer ')[1].split("</svg>")[0] for page in (match, unknown, again)
    ]
    assert len({shape.split("<svg")[1] for shape in shapes}) == 3
    assert [shape.split('"')[0] for shape in shapes] == ["ok", "unknown", "fail"]


def test_a_part_without_a_tag_goes_on_by_hand_but_a_valve_never(desk: Desk) -> None:
    order, _, boot = _bench(desk)
    valve = order.parts.get(kind="valve")
    desk.press("hand", part=str(boot.pk))
    assert "MATCH" in desk.text
    desk.send((_page(order), {"do": "hand", "part": str(valve.pk)}))
    assert "SCAN IT" in desk.text
    assert order.parts.get(kind="valve").whereabouts == "bagged"


def test_the_kit_s_tag_is_known_and_another_kit_is_wrong(desk: Desk) -> None:
    other, _, _ = _bench(desk, "ZZ1")
    order, _, _ = _bench(desk)
    own = binding.issue(thing=Thing.kit(order), host=HOST, at=makers.NOON, by=BY)
    wrong = binding.issue(thing=Thing.kit(other), host=HOST, at=makers.NOON, by=BY)
    assert "RIGHT KIT" in desk.open(_page(order)).press("offer", code=own.code).text
    assert "WRONG CYLINDER" in desk.press("offer", code=wrong.code).text


def test_a_cylinder_s_own_tag_is_confirmed_and_another_one_s_is_not_taken(desk: Desk) -> None:
    other, _, _ = _bench(desk, "ZZ1")
    order, _, _ = _bench(desk)
    own = binding.issue(thing=Thing.cylinder(order.cylinder), host=HOST, at=makers.NOON, by=BY)
    far = binding.issue(thing=Thing.cylinder(other.cylinder), host=HOST, at=makers.NOON, by=BY)
    assert "RIGHT CYLINDER" in desk.open(_page(order)).press("offer", code=own.code).text
    assert "OTHER CYLINDER" in desk.press("offer", code=far.code).text
    assert _refusals(order) == []


def test_the_visit_closes_only_when_somebody_answered_for_every_part(desk: Desk) -> None:
    order, tag, boot = _bench(desk)
    desk.press("offer", code=tag.code)
    assert desk.send((_page(order), {"do": "finish"})).status == 409
    assert "Still in its bag: black boot" in desk.text
    desk.open(f"{_page(order)}?account={boot.pk}")
    desk.press("account", how="lost", note="looked everywhere, Tessa")
    assert "Accounted for: black boot" in desk.text
    desk.press("finish")
    order.refresh_from_db()
    assert order.stage == "reassembled"


def test_a_part_is_not_accounted_for_without_a_word(desk: Desk) -> None:
    order, _, boot = _bench(desk)
    desk.open(f"{_page(order)}?account={boot.pk}").press("account", how="lost")
    assert desk.status == 422
    assert "Fill this in: who looked" in desk.text
    assert boot.pk == order.parts.get(whereabouts="bagged", kind="boot").pk


def test_an_oxygen_clean_valve_is_serviced_with_oxygen_compatible_parts(desk: Desk) -> None:
    order, _, _ = _bench(desk)
    valve = order.parts.get(kind="valve")
    Part.objects.filter(pk=valve.pk).update(oxygen_clean=True)
    work = {"o_rings": "AS568-214 NBR", "lubricant": "silicone", "hand_wheel": "sound"}
    desk.open(f"/bench/orders/{order.pk}/parts/{valve.pk}/service/")
    assert "Usual for 3/4-14 NPSM: AS568-214. The maker's sheet decides." in desk.text
    desk.press("service", **work)
    assert desk.status == 409
    assert "Use oxygen-compatible O-rings and lubricant" in desk.text
    assert "AS568-214 NBR" in desk.response.content.decode()
    desk.press("service", oxygen_compatible="on")
    valve.refresh_from_db()
    assert valve.serviced == "2026-11"


def test_cleaning_for_oxygen_is_recorded_and_can_be_broken(desk: Desk) -> None:
    order, _, _ = _bench(desk)
    desk.open(f"/bench/orders/{order.pk}/oxygen/").press("clean", method="wash, white light")
    assert Cylinder.objects.get(pk=order.cylinder_id).oxygen_clean is True
    desk.open(f"/bench/cylinders/{order.cylinder_id}/").press("break", why="oily fill")
    assert Cylinder.objects.get(pk=order.cylinder_id).oxygen_clean is False
    assert "No longer clean for oxygen: oily fill." in desk.text


def test_a_scan_too_many_is_undone_and_told(desk: Desk) -> None:
    order, tag, _ = _bench(desk)
    desk.press("offer", code=tag.code)
    assert "1 still missing" in desk.text
    desk.press("unfit")
    assert "is back in its bag" in desk.text
    assert "2 still missing" in desk.text
    assert order.parts.get(kind="valve").whereabouts == "bagged"
    assert history.timeline(order.cylinder_id)[-1].kind == Kind.PART_UNFITTED
    assert "MATCH" in desk.press("offer", code=tag.code).text
