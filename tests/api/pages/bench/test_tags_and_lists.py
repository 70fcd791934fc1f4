import datetime as dt
import io

import pytest
import zxingcpp
from PIL import Image

from cylinders.facts import Actor
from cylinders.models import Cylinder, Part, WorkOrder
from labels.models import Tag
from labels.operations import binding
from labels.operations.binding import Thing
from labels.operations.minting import mint
from tests import makers
from tests.api.pages.bench.desk import Desk

BY = Actor("staff", "1")
HOST = "CYL.EXAMPLE"


def _tag(thing: Thing) -> Tag:
    return binding.issue(thing=thing, host=HOST, at=makers.NOON, by=BY)


@pytest.fixture
def order(desk: Desk) -> WorkOrder:
    """A cylinder with its tag, taken down."""
    order = makers.receive()
    _tag(Thing.cylinder(order.cylinder))
    makers.take_down(order)
    return order


@pytest.mark.parametrize("dpi", ["203", "300"])
def test_a_printed_tag_reads_back_to_its_address(desk: Desk, order: WorkOrder, dpi: str) -> None:
    tag = Tag.objects.get(kind="cylinder")
    answer = desk.client.get(f"/bench/tags/{tag.code}/print.png?dpi={dpi}")
    read = zxingcpp.read_barcodes(Image.open(io.BytesIO(answer.content)).convert("L"))
    assert {found.text for found in read} == {tag.url}


@pytest.mark.parametrize("medium", ["62mm", "a4", "letter", "4x6", "nonsense"])
def test_a_tag_prints_as_pdf_on_each_medium(desk: Desk, order: WorkOrder, medium: str) -> None:
    tag = Tag.objects.get(kind="cylinder")
    answer = desk.client.get(f"/bench/tags/{tag.code}/print.pdf?on={medium}")
    assert answer.content.startswith(b"%PDF")


def test_a_text_that_no_tag_can_hold_is_said_so(desk: Desk, order: WorkOrder) -> None:
    Cylinder.objects.update(serial="W" * 60)
    tag = Tag.objects.get(kind="cylinder")
    assert "cannot be printed as it stands" in desk.open(f"/bench/tags/{tag.code}/").text
    assert desk.client.get(f"/bench/tags/{tag.code}/print.png").status_code == 422


def test_a_torn_tag_is_replaced_and_a_second_press_changes_nothing(
    desk: Desk, order: WorkOrder
) -> None:
    old = Tag.objects.get(kind="cylinder")
    filled = desk.open(f"/bench/tags/{old.code}/").filled("replace", reason="torn")
    desk.send(filled)
    new = Tag.objects.get(kind="cylinder", state="live")
    desk.send(filled)
    assert desk.path.startswith(f"/bench/tags/{new.code}/")
    assert Tag.objects.filter(kind="cylinder").count() == 2


def test_a_tag_is_not_retired_without_a_reason(desk: Desk, order: WorkOrder) -> None:
    tag = Tag.objects.get(kind="cylinder")
    assert desk.open(f"/bench/tags/{tag.code}/").press("retire").status == 422
    desk.press("retire", reason="fixed to the wrong one")
    tag.refresh_from_db()
    assert tag.state == "retired"


def test_the_sheet_of_a_blank_tag_has_room_for_a_pen(desk: Desk) -> None:
    [tag] = mint(count=1, host=HOST, at=makers.NOON)
    assert "Blank tag" in desk.open(f"/bench/tags/{tag.code}/").text


def test_the_board_s_counts_add_up_and_the_oldest_stands_first(desk: Desk) -> None:
    for days, serial in ((1, "A1"), (9, "A9"), (4, "A4")):
        makers.receive(serial=serial, at=makers.NOON - dt.timedelta(days=days))
    makers.take_down(makers.receive(serial="B1"))
    text = desk.open("/bench/").text
    assert "4 cylinders in the house" in text
    assert "3 received + 1 torn down = 4" in text
    assert text.index("A9") < text.index("A4") < text.index("A1")
    assert "waits 9 days" in text
    assert "2 parts in bags" in text


def test_an_empty_board_offers_the_first_step(desk: Desk) -> None:
    assert "Nothing is in hand" in desk.open("/bench/").text


@pytest.mark.parametrize("words", ["KX40417", "kx 404", "quill", "Odo"])
def test_a_cylinder_is_found_by_serial_and_owner(desk: Desk, order: WorkOrder, words: str) -> None:
    desk.open(f"/bench/find/?q={words}")
    assert "1 found" in desk.text
    assert "Torn down since 2026-11-25" in desk.text


def test_a_cylinder_is_found_by_the_code_of_its_valve_s_bag(desk: Desk, order: WorkOrder) -> None:
    bag = _tag(Thing.bag(Part.objects.get(kind="valve")))
    assert "1 found" in desk.open(f"/bench/find/?q={bag.code.lower()}").text


@pytest.mark.parametrize("words", ["nothing like it", "<b>", "%", "x" * 3000])
def test_a_search_without_a_hit_says_so(desk: Desk, order: WorkOrder, words: str) -> None:
    answer = desk.client.get("/bench/find/", {"q": words})
    assert "0 found" in answer.content.decode()
    assert "<b>&" not in answer.content.decode().replace("<b>x", "")


def test_what_is_due_stands_once_for_each_cylinder_in_its_month(
    desk: Desk, order: WorkOrder
) -> None:
    desk.open("/bench/due/")
    assert "November 2026: 1" in desk.text
    assert "due this month Requalification" in desk.text
    assert "Not known: 1" in desk.text
    assert desk.open("/bench/due/?within=nonsense").status == 200


def test_the_cylinder_s_page_tells_its_parts_and_its_story(desk: Desk, order: WorkOrder) -> None:
    desk.open(f"/bench/cylinders/{order.cylinder_id}/")
    for line in ("Taken off: black boot.", "valve V1", "in its bag", "6061-T6", "in date"):
        assert line in desk.text


def test_a_marking_is_corrected_with_its_reason(desk: Desk, order: WorkOrder) -> None:
    page = f"/bench/cylinders/{order.cylinder_id}/"
    assert desk.open(page).press("correct", field="serial", becomes="KX40471").status == 422
    desk.press("correct", field="serial", becomes="KX40471", reason="read again with a lamp")
    assert "Corrected serial from KX40417 to KX40471: read again with a lamp." in desk.text


def test_a_value_of_the_wrong_shape_corrects_nothing(desk: Desk, order: WorkOrder) -> None:
    desk.open(f"/bench/cylinders/{order.cylinder_id}/")
    desk.press("correct", field="requalified", becomes="11/21", reason="typed")
    assert desk.status == 409
    assert Cylinder.objects.get().requalified == "2021-11"


def test_a_new_owner_is_recorded(desk: Desk, order: WorkOrder) -> None:
    mara = makers.make_customer("Mara Finch")
    desk.open(f"/bench/cylinders/{order.cylinder_id}/").press("owner", owner=str(mara.pk))
    assert "Now belongs to Mara Finch, before to Odo Quill." in desk.text


def test_the_screen_in_the_workshop_names_no_customer(desk: Desk, order: WorkOrder) -> None:
    text = desk.open("/bench/wall/").text
    assert "KX40417" in text
    assert "Quill" not in text


def test_the_months_ahead_count_what_falls_due(desk: Desk, order: WorkOrder) -> None:
    makers.receive(serial="B1", requalified="2022-03")
    makers.receive(serial="B2", requalified="2019-03")
    text = desk.open("/bench/due/months/").text
    assert "November 2026 3 1 requalification" in text
    assert "March 2027 1 1 requalification" in text
    assert "1 overdue" in text
    assert "#month-2027-03" in desk.response.content.decode()
    assert 'id="month-2027-03"' in desk.open("/bench/due/?within=365").response.content.decode()


def test_pages_of_the_work_show_no_telephone_number(desk: Desk, order: WorkOrder) -> None:
    pages = [f"cylinders/{order.cylinder_id}/", f"orders/{order.pk}/", "find/?q=Odo", ""]
    for page in pages:
        assert "555-0142" not in desk.open(f"/bench/{page}").text
