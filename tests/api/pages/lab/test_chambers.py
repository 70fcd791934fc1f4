"""Two chambers and the check of the day on the lab's pages: entered once, lost never."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client

from api.models import LabDraft
from api.pages.lab.form import RecordForm
from cylinders.models import LabReport, TestRecord, WorkOrder
from tests import makers
from tests.api.pages.lab.test_lab_pages import readings
from tests.api.v1.lab import LabClient, make_lab_client, order_at, tag_of

pytestmark = pytest.mark.django_db

PAGE, CHECKS = "/lab/chambers/", "/lab/checks/"
NO_CHECK = dict.fromkeys([name for name in readings() if name.startswith("check_")], "")


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    cache.clear()
    with time_machine.travel(makers.NOON, tick=True):
        yield


@pytest.fixture
def lab(db: None) -> LabClient:
    makers.technician_one()
    return make_lab_client()


@pytest.fixture
def orders(lab: LabClient) -> list[WorkOrder]:
    return [order_at(lab.lab, serial) for serial in ("KX40417", "ZZ90000")]


def signed_in(lab: LabClient) -> Client:
    client = Client()
    client.post("/lab/sign-in/", {"key": lab.key})
    return client


@pytest.fixture
def browser(lab: LabClient) -> Client:
    return signed_in(lab)


def check(**changes: str) -> dict[str, str]:
    return {
        "apparatus": "chamber 1",
        "time": "07:40",
        "operator": "op 4",
        "cylinder_serial": "CAL-3",
        "certificate": "C-88",
        "certified_on": "2026-01-10",
        "points": "4000 50.6\n5000 63.4",
        "pressure_unit": "psi",
        "volume_unit": "cc",
        "pressure": "5000",
        "expansion": "63.3",
        "permanent": "0.0",
        "gauge_serial": "G-17",
        "full_scale": "10000",
        "accuracy_percent": "0.5",
    } | changes


def typed(order: WorkOrder, chamber: int, **changes: str) -> dict[str, str]:
    return readings(**NO_CHECK) | {
        "serial": order.cylinder.serial,
        "lab_reference": f"W-{order.pk}",
        "apparatus": f"chamber {chamber}",
        "chamber": str(chamber),
        **changes,
    }


def line_of(order: WorkOrder) -> int:
    return int(order.lines.get().pk)


def address(order: WorkOrder) -> str:
    return f"/lab/cylinders/{line_of(order)}/"


def page(browser: Client) -> str:
    return browser.get(PAGE).content.decode()


def look(browser: Client, order: WorkOrder, chamber: int, **changes: str) -> Any:
    return browser.post(address(order), typed(order, chamber, **changes) | {"look": "1"})


def put_in(browser: Client, orders: list[WorkOrder]) -> None:
    for chamber, order in enumerate(orders, start=1):
        browser.post(PAGE, {"chamber": chamber, "line": line_of(order)})


def test_the_check_is_entered_once_and_the_records_of_the_day_lean_on_it(
    browser: Client, orders: list[WorkOrder]
) -> None:
    assert browser.post(CHECKS, check()).status_code == 302
    report = LabReport.objects.get()
    assert (report.came, report.day) == ("passed", makers.TODAY)
    for number, order in enumerate(orders):
        sent = typed(order, 1) | {"lab_reference": f"W-{number}", "chamber": ""}
        shown = browser.post(address(order), sent).content.decode()
        seen = re.search(r'name="seen" value="([0-9a-f]{64})"', shown)
        assert seen is not None
        assert browser.post(address(order), sent | {"seen": seen[1]}).status_code == 302
    for record in TestRecord.objects.all():
        assert (record.state, record.verdict, record.daily_check) == ("attached", "passed", report)


def test_the_next_check_begins_with_the_devices_of_the_last_and_no_reading(browser: Client) -> None:
    browser.post(CHECKS, check())
    form = browser.get(CHECKS).content.decode()
    assert 'value="CAL-3"' in form
    assert 'value="G-17"' in form
    assert 'value="63.3"' not in form


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"time": "7.40"}, "time"),
        ({"points": "4000"}, "points"),
        ({"certified_on": "last year"}, "certified_on"),
        ({"pressure": "high"}, "pressure"),
        ({"full_scale": ""}, "full_scale"),
        ({"operator": ""}, "operator"),
    ],
    ids=str,
)
def test_a_wrong_check_is_marked_where_it_is_and_what_was_typed_stays(
    browser: Client, change: dict[str, str], field: str
) -> None:
    answer = browser.post(CHECKS, check(**change))
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert 'value="63.3"' in answer.content.decode()
    assert not LabReport.objects.exists()


def test_a_check_that_is_out_is_kept_and_said(browser: Client, orders: list[WorkOrder]) -> None:
    browser.post(CHECKS, check(expansion="60"))
    assert "failed" in browser.get(CHECKS).content.decode()
    looked = look(browser, orders[0], 1).content.decode()
    assert "cannot be leaned on" in looked


def test_two_entries_stand_side_by_side_and_a_reload_loses_nothing(
    browser: Client, orders: list[WorkOrder]
) -> None:
    put_in(browser, orders)
    look(browser, orders[0], 1, total_expansion="70.1", notes="half typed")
    look(browser, orders[1], 2, total_expansion="55.5", permanent_expansion="")
    shown = page(browser)
    for text in ("70.1", "half typed", "55.5", "KX40417", "ZZ90000"):
        assert text in shown
    assert shown.count('class="record-form"') == 2
    ids = re.findall(r' id="([^"]+)"', shown)
    assert len(ids) == len(set(ids))


def test_two_tabs_typing_in_turn_do_not_overwrite_each_other(
    lab: LabClient, browser: Client, orders: list[WorkOrder]
) -> None:
    put_in(browser, orders)
    other = signed_in(lab)
    for figure in ("1", "12", "12.3"):
        look(browser, orders[0], 1, total_expansion=figure)
        look(other, orders[1], 2, total_expansion=f"9{figure}")
    kept = {row.chamber: row.typed["total_expansion"] for row in LabDraft.objects.all()}
    assert kept == {1: "12.3", 2: "912.3"}


def test_sending_one_chamber_empties_it_and_leaves_the_other(
    browser: Client, orders: list[WorkOrder]
) -> None:
    browser.post(CHECKS, check())
    put_in(browser, orders)
    look(browser, orders[1], 2, notes="still typing")
    looked = look(browser, orders[0], 1).content.decode()
    seen = re.search(r'name="seen" value="([0-9a-f]{64})"', looked)
    assert seen is not None
    sent = browser.post(address(orders[0]), typed(orders[0], 1) | {"seen": seen[1]})
    assert sent.headers["Location"] == f"{PAGE}?sent=W-{orders[0].pk}"
    assert [row.chamber for row in LabDraft.objects.all()] == [2]
    late = look(browser, orders[0], 1)
    assert late.status_code == 200
    assert [row.chamber for row in LabDraft.objects.all()] == [2]
    assert "still typing" in page(browser)


def test_a_full_chamber_takes_no_second_cylinder(browser: Client, orders: list[WorkOrder]) -> None:
    put_in(browser, orders)
    look(browser, orders[0], 1, notes="keep me")
    browser.post(PAGE, {"chamber": 1, "line": line_of(orders[1])})
    assert "keep me" in page(browser)


def test_a_cylinder_is_scanned_in_and_taken_out_unsent(
    browser: Client, orders: list[WorkOrder]
) -> None:
    code = tag_of(orders[0]).code
    assert browser.get(PAGE, {"chamber": "2", "code": code}).status_code == 302
    assert LabDraft.objects.get().line_id == line_of(orders[0])
    browser.post(PAGE, {"chamber": "2", "out": "1"})
    assert not LabDraft.objects.exists()
    assert browser.get(PAGE, {"chamber": "2", "code": "NOTHING"}).status_code == 404


def test_another_labs_cylinder_gets_into_no_chamber(
    browser: Client, orders: list[WorkOrder]
) -> None:
    other = make_lab_client("Z998")
    elsewhere = order_at(other.lab, "EL90000")
    browser.post(PAGE, {"chamber": 1, "line": line_of(elsewhere)})
    for wrong in ("x", "9" * 30, ""):
        browser.post(PAGE, {"chamber": 1, "line": wrong})
    assert not LabDraft.objects.exists()
    assert look(browser, elsewhere, 1).status_code == 404


def test_every_field_of_the_form_is_kept(browser: Client, orders: list[WorkOrder]) -> None:
    put_in(browser, orders)
    look(browser, orders[0], 1)
    assert set(LabDraft.objects.get(chamber=1).typed) == set(RecordForm.base_fields)


def test_the_lab_reads_its_log_and_saves_it(browser: Client, orders: list[WorkOrder]) -> None:
    browser.post(CHECKS, check())
    day = makers.TODAY.isoformat()
    assert "CAL-3" in browser.get("/lab/log/", {"day": day}).content.decode()
    saved = browser.get(f"/lab/log/{day}.csv")
    assert saved.headers["Content-Disposition"] == f'attachment; filename="log-Z999-{day}.csv"'
    assert b"CAL-3" in saved.content
    assert browser.get(f"/lab/log/{day}.pdf").content.startswith(b"%PDF-")
    assert browser.get(f"/lab/log/{day}.exe").status_code == 404
    assert browser.get("/lab/log/never.csv").status_code == 404
