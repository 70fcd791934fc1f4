import json

import pytest

from api.pages.bench.held import plain
from cylinders.facts import Actor
from cylinders.models import Cylinder, TestRecord, WorkOrder
from cylinders.operations import consignment, retest
from cylinders.rules import judgement
from tests import makers
from tests.api.pages.bench.desk import Desk


@pytest.fixture
def home(desk: Desk) -> WorkOrder:
    """A cylinder that came home from the lab, before any record."""
    order = makers.receive()
    makers.take_down(order)
    lab = makers.make_lab()
    by = Actor("staff", str(desk.user.pk))
    at = makers.NOON
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=at, by=by)
    consignment.send(
        consignment_id=line.consignment_id, carrier="Rufus", on=at.date(), at=at, by=by
    )
    consignment.take_back(work_order_id=order.pk, at=at, by=by)
    return order


def _post(order: WorkOrder, **changes: object) -> TestRecord:
    line = order.lines.get()
    text = json.dumps(makers.record_body(**changes))
    receipt = retest.receive_record(
        lab_id=line.consignment.lab_id,
        cylinder_id=order.cylinder_id,
        body=judgement.parse(judgement.loads(text)),
        body_text=text,
        on=makers.TODAY,
        at=makers.NOON,
        by=Actor("lab", str(line.consignment.lab_id)),
    )
    return receipt.record


def test_without_a_record_there_is_nothing_to_compare(desk: Desk, home: WorkOrder) -> None:
    desk.open(f"/bench/orders/{home.pk}/")
    assert "There is no passed record of this visit" in desk.text
    assert "49 CFR 180.215(b)" in desk.text


def test_a_stamp_that_agrees_leads_on(desk: Desk, home: WorkOrder) -> None:
    _post(home)
    desk.open(f"/bench/orders/{home.pk}/").press("stamp", typed="11 Z9/99 26")
    assert "STAMP AGREES" in desk.text
    assert desk.path.startswith(f"/bench/orders/{home.pk}/inspection/")


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("10 Z9/99 26", "The month is stamped 10, the record says 11."),
        ("11 Z9/89 26", "The identification number is stamped Z998, the record says Z999."),
    ],
)
def test_each_difference_of_a_stamp_is_told(
    desk: Desk, home: WorkOrder, typed: str, says: str
) -> None:
    _post(home)
    desk.open(f"/bench/orders/{home.pk}/").press("stamp", typed=typed)
    assert "STAMP DIFFERS" in desk.text
    assert says in desk.text
    assert "did not agree when it was last compared" in desk.text


def test_a_stamp_that_cannot_be_read_is_said_so_and_kept(desk: Desk, home: WorkOrder) -> None:
    _post(home)
    desk.open(f"/bench/orders/{home.pk}/").press("stamp", typed="scratches")
    assert desk.status == 409
    assert "No requalification mark could be read" in desk.text
    assert "scratches" in desk.response.content.decode()


def test_a_held_record_waits_on_the_board_until_a_person_decides(
    desk: Desk, home: WorkOrder
) -> None:
    record = _post(home, stamp={"month": 10, "year": 2026, "symbol": None})
    assert record.state == "held"
    assert "1 lab record to decide" in desk.open("/bench/").text
    assert record.lab_reference in desk.open("/bench/held/").text
    desk.open(f"/bench/records/{record.pk}/")
    assert "Lab's cylinder against ours" in desk.text
    assert desk.press("decide", attach="no").status == 422
    desk.press("decide", attach="no", reason="stamped 10, tested in 11: asked the lab")
    assert "Dismissed" in desk.text
    record.refresh_from_db()
    assert record.state == "dismissed"


def test_a_decided_record_is_not_decided_again(desk: Desk, home: WorkOrder) -> None:
    record = _post(home, stamp={"month": 10, "year": 2026, "symbol": None})
    page = f"/bench/records/{record.pk}/"
    first = desk.open(page).filled("decide", attach="yes", reason="the stamp reads 10")
    second = desk.open(page).filled("decide", attach="no", reason="another view")
    assert desk.send(first).status == 200
    assert desk.send(second).status == 409
    assert "That record is attached already" in desk.text


def test_a_held_record_shows_where_lab_and_house_differ(desk: Desk, home: WorkOrder) -> None:
    cylinder = makers.record_body()["cylinder"] | {"serial": "KX40471"}
    record = _post(home, cylinder=cylinder)
    assert record.state == "held"
    desk.open(f"/bench/records/{record.pk}/")
    assert "KX40471 KX40417 differs" in desk.text


def test_a_lab_s_condemnation_leads_to_closing_the_visit(desk: Desk, home: WorkOrder) -> None:
    eight_of_seventy = {"value": "8.0", "unit": "cc"}
    body = {"permanent_expansion": eight_of_seventy, "elastic_expansion": None}
    record = _post(home, disposition="condemned", reason="over the limit", **body)
    assert record.verdict == "condemned"
    desk.open(f"/bench/orders/{home.pk}/")
    assert desk.path == f"/bench/orders/{home.pk}/stop/"
    marked = {"marked": "CONDEMNED stamped by the lab", "sure": "on"}
    desk.press("condemn", **marked)
    assert desk.path.startswith(f"/bench/orders/{home.pk}/notice/")
    assert "It must never be filled" in desk.text
    assert Cylinder.objects.get(pk=home.cylinder_id).life == "condemned"


def test_a_figure_stands_before_its_unit_in_whatever_order_they_are_kept() -> None:
    assert plain({"unit": "psi", "value": "3000"}) == "3000 psi"
    assert plain({"value": "3000", "unit": "psi"}) == "3000 psi"
    assert plain({"month": 11, "symbol": None, "year": 2026}) == "11 2026"
