import gzip
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from cylinders.facts import Actor
from cylinders.models import WorkOrder
from cylinders.operations import consignment
from labels.operations import binding
from labels.operations.binding import Thing
from tests import makers
from tests.api.pages.bench.desk import Desk

STATIC = Path(__file__).parents[4] / "api" / "pages" / "static" / "pages"
BUDGET = 14 * 1024
STAMP = "DOT-3AL3000%0AKX40417%0AM9999%0A3%2F4%0AQQ"
PAGES = [
    "",
    "login/",
    "find/?q=KX",
    "due/",
    "due/months/",
    "wall/",
    "cylinders/1/links/",
    "labels/",
    "me/",
    "held/",
    "scan/?code=7K2M9QX4WBTCK",
    "intake/",
    f"intake/?stamp={STAMP}",
    "runs/",
    "runs/in/",
    "runs/to/1/",
    "runs/1/",
    "cylinders/1/",
    "cylinders/1/receive/",
    "orders/1/teardown/",
    "orders/1/teardown/?part=valve",
    "orders/1/pack/",
    "orders/1/stamp/",
    "orders/1/inspection/",
    "orders/1/oxygen/",
    "orders/1/reassembly/",
    "orders/1/parts/1/service/",
    "orders/1/fill/",
    "orders/1/handover/",
    "orders/1/stop/",
    "orders/1/notice/",
    "orders/2/teardown/",
    "orders/2/teardown/?part=boot",
]


@pytest.fixture
def house(desk: Desk) -> Desk:
    """Two cylinders: one away at the lab, one just received."""
    first, second = makers.receive(), makers.receive(serial="ZZ1")
    makers.take_down(first)
    for order in (first, second):
        thing = Thing.cylinder(order.cylinder)
        binding.issue(thing=thing, host="CYL.EXAMPLE", at=makers.NOON, by=Actor("staff", "1"))
    lab = makers.make_lab()
    by = Actor("staff", "1")
    consignment.pack(work_order_id=first.pk, lab_id=lab.pk, at=makers.NOON, by=by)
    consignment.send(consignment_id=1, carrier="Rufus", on=makers.TODAY, at=makers.NOON, by=by)
    assert WorkOrder.objects.count() == 2
    return desk


class _Seen(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.labelled: set[str] = set()
        self.controls: list[dict[str, str]] = []
        self.tags: list[tuple[str, dict[str, str]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        got = {name: value or "" for name, value in attrs}
        self.tags.append((tag, got))
        self.ids += [got["id"]] if "id" in got else []
        if tag == "label":
            self.labelled.add(got.get("for", ""))
        if tag in ("input", "select", "textarea") and got.get("type") != "hidden":
            self.controls.append(got)


def _seen(page: str) -> _Seen:
    reader = _Seen()
    reader.feed(page)
    return reader


@pytest.mark.parametrize("address", PAGES)
@pytest.mark.sampled(of=4)
def test_a_page_is_sound(house: Desk, address: str) -> None:
    house.open(f"/bench/{address}")
    page = house.response.content.decode()
    seen = _seen(page)
    assert house.status in (200, 404)
    assert page.count("<h1") == 1
    assert len(seen.ids) == len(set(seen.ids)), "an id stands twice"
    nameless = [one for one in seen.controls if one.get("id", "") not in seen.labelled]
    assert [one for one in nameless if not _inside_its_label(page, one)] == []
    assert not [tag for tag, got in seen.tags if "style" in got or "onclick" in got]
    scripts = [got for tag, got in seen.tags if tag == "script"]
    assert all(got["nonce"] and got["src"].startswith("/static/") for got in scripts)
    pictures = [got for tag, got in seen.tags if tag == "img"]
    assert all(got["alt"] for got in pictures)
    assert sum("autofocus" in got for _, got in seen.tags) == 1
    outside = re.findall(r'(?:href|src|action)="(https?:[^"]*)"', page)
    assert outside == []


@pytest.mark.parametrize("address", PAGES)
@pytest.mark.sampled(of=4)
def test_a_page_is_light(house: Desk, address: str) -> None:
    page = house.open(f"/bench/{address}").response.content
    sheet = (STATIC / "site.css").read_bytes()
    script = (STATIC / "bench.js").read_bytes()
    assert len(gzip.compress(page)) + len(gzip.compress(sheet)) <= BUDGET
    assert sum(len(gzip.compress(part)) for part in (page, sheet, script)) <= BUDGET


def test_every_bench_page_has_one_scan_field_in_focus(house: Desk) -> None:
    for address in PAGES:
        if address == "login/":
            continue
        page = house.open(f"/bench/{address}").response.content.decode()
        fields = re.findall(r'<input id="scan"[^>]*>', page)
        assert len(fields) == 1, address
        assert "autofocus" in fields[0]


def test_the_sheet_knows_dark_print_and_calm() -> None:
    sheet = (STATIC / "site.css").read_text()
    for words in ("prefers-color-scheme: dark", "@media print", "prefers-reduced-motion"):
        assert words in sheet


def _inside_its_label(page: str, control: dict[str, str]) -> bool:
    name, value = re.escape(control.get("name", "")), re.escape(control.get("value", ""))
    return (
        re.search(rf'<label>\s*<input type="radio" name="{name}" value="{value}"', page) is not None
    )
