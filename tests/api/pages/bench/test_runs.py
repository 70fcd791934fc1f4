from cylinders.facts import Actor
from cylinders.models import Consignment, Lab, WorkOrder
from labels.models import Tag
from labels.operations import binding
from labels.operations.binding import Thing
from tests import makers
from tests.api.pages.bench.desk import Desk

BY = Actor("staff", "1")


def _bare(serial: str) -> tuple[WorkOrder, Tag]:
    order = makers.receive(serial=serial)
    makers.take_down(order)
    thing = Thing.cylinder(order.cylinder)
    return order, binding.issue(thing=thing, host="CYL.EXAMPLE", at=makers.NOON, by=BY)


def _sent(desk: Desk, *serials: str) -> tuple[Lab, list[tuple[WorkOrder, Tag]]]:
    lab = makers.make_lab()
    bare = [_bare(serial) for serial in serials]
    desk.open(f"/bench/runs/to/{lab.pk}/")
    for _, tag in bare:
        desk.press("pack", code=tag.code)
        assert "PACKED" in desk.text
    desk.press("send", carrier="Rufus")
    return lab, bare


def test_scan_scan_scan_and_the_run_leaves_with_its_list(desk: Desk) -> None:
    _sent(desk, "A1", "A2", "A3")
    run = Consignment.objects.get()
    assert desk.path.startswith(f"/bench/runs/{run.pk}/")
    assert "3 not home" in desk.text
    assert set(WorkOrder.objects.values_list("stage", flat=True)) == {"at_lab"}
    manifest = desk.client.get(f"/bench/runs/{run.pk}/list.pdf")
    assert manifest.headers["Content-Type"] == "application/pdf"
    assert manifest.content.startswith(b"%PDF")


def test_a_cylinder_is_packed_once(desk: Desk) -> None:
    lab = makers.make_lab()
    order, tag = _bare("A1")
    desk.open(f"/bench/runs/to/{lab.pk}/").press("pack", code=tag.code)
    desk.press("pack", code=tag.code)
    assert "NOT EXPECTED" in desk.text
    assert "It is packed already" in desk.text
    assert order.lines.count() == 1


def test_what_is_not_torn_down_is_not_packed_and_the_next_scan_goes_on(desk: Desk) -> None:
    lab = makers.make_lab()
    whole = makers.receive(serial="W1")
    thing = Thing.cylinder(whole.cylinder)
    tag = binding.issue(thing=thing, host="CYL.EXAMPLE", at=makers.NOON, by=BY)
    _, bare = _bare("A1")
    desk.open(f"/bench/runs/to/{lab.pk}/").press("pack", code=tag.code)
    assert "Packing for the lab is not possible" in desk.text
    assert "PACKED" in desk.press("pack", code=bare.code).text


def test_a_run_leaves_neither_empty_nor_without_a_carrier(desk: Desk) -> None:
    lab = makers.make_lab()
    desk.send((f"/bench/runs/to/{lab.pk}/", {"do": "send", "carrier": "Rufus"}))
    assert desk.status == 409
    assert "Nothing is packed" in desk.text
    _, tag = _bare("A1")
    desk.open(f"/bench/runs/to/{lab.pk}/").press("pack", code=tag.code)
    assert desk.press("send").status == 422
    assert "Fill this in: who carries it?" in desk.text


def test_a_lab_whose_number_ran_out_gets_nothing(desk: Desk) -> None:
    lab = makers.make_lab()
    Lab.objects.update(rin_valid_until="2026-11-24")
    _, tag = _bare("A1")
    desk.open(f"/bench/runs/to/{lab.pk}/").press("pack", code=tag.code)
    assert "run out" in desk.text
    desk.press("send", carrier="Rufus")
    assert "49 CFR 180.205(b)" in desk.text
    assert Consignment.objects.get().sent_at is None


def test_short_and_over_are_listed_while_cylinders_come_home(desk: Desk) -> None:
    _, bare = _sent(desk, "A1", "A2")
    _, stray = _bare("S1")
    desk.open("/bench/runs/in/")
    assert "Short: 2 still away" in desk.text
    desk.press("in", code=bare[0][1].code)
    assert "HOME" in desk.text
    assert "Short: 1 still away" in desk.text
    desk.press("in", code=stray.code)
    assert "NOT EXPECTED" in desk.text
    assert "Over: 1 not expected" in desk.text
    desk.press("in", code="https://evil.example/x")
    assert "NOT OUR TAG" in desk.text
    assert "Over: 2 not expected" in desk.text
    desk.press("in", code=bare[1][1].code)
    assert "Nothing: all are home." in desk.text
    assert Consignment.objects.get().closed_at is not None


def test_the_list_of_runs_counts_what_is_home(desk: Desk) -> None:
    _, bare = _sent(desk, "A1", "A2")
    desk.open("/bench/runs/in/").press("in", code=bare[0][1].code)
    assert "1 of 2 home" in desk.open("/bench/runs/").text


def test_an_order_is_packed_from_its_own_page_too(desk: Desk) -> None:
    lab = makers.make_lab()
    order, _ = _bare("A1")
    desk.open(f"/bench/orders/{order.pk}/").press("pack", lab=str(lab.pk))
    assert desk.path.startswith(f"/bench/runs/to/{lab.pk}/")
    desk.open(f"/bench/orders/{order.pk}/pack/")
    assert "It is packed already" in desk.text


def test_a_cylinder_scanned_into_a_run_by_mistake_is_taken_out_again(desk: Desk) -> None:
    lab = makers.make_lab()
    order, tag = _bare("A1")
    desk.open(f"/bench/runs/to/{lab.pk}/").press("pack", code=tag.code)
    assert "Packed: 1" in desk.text
    desk.press("unpack")
    assert "is out of this run" in desk.text
    assert "Packed: 0" in desk.text
    assert not order.lines.exists()


def test_a_cylinder_scanned_home_by_mistake_is_away_again(desk: Desk) -> None:
    _lab, [(order, tag)] = _sent(desk, "A1")
    desk.open("/bench/runs/in/").press("in", code=tag.code)
    assert "Short: 0" in desk.text
    desk.press("undo")
    assert "is still at the lab" in desk.text
    assert "Short: 1" in desk.text
    order.refresh_from_db()
    assert order.stage == "at_lab"
