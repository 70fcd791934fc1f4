"""A run of blank labels on the bench: reserved, taken as a file or sent on, and its end said."""

import json
from typing import Any

import pypdfium2  # type: ignore[import-untyped]  # it ships no types
import zxingcpp

from labels.models import Printed, PrintRun, Tag, TagState
from tests.api.pages.bench.desk import Desk
from tests.labels.printing.sinks import raw_port


def begin(desk: Desk, count: int, printer: str = "") -> PrintRun:
    desk.open("/bench/labels/").press("begin", count=str(count), printer=printer)
    assert desk.status == 200
    return PrintRun.objects.get()


def test_a_run_is_taken_as_a_file_that_reads_back_and_is_the_same_each_time(desk: Desk) -> None:
    run = begin(desk, 3)
    assert "3 codes are reserved" in desk.text
    assert desk.client.get(f"/bench/labels/{run.pk}/labels.pdf").status_code == 404
    desk.press("send")
    assert "3 of 3 sent" in desk.text
    first = desk.client.get(f"/bench/labels/{run.pk}/labels.pdf").content
    assert first == desk.client.get(f"/bench/labels/{run.pk}/labels.pdf").content
    found = {
        code.text
        for page in pypdfium2.PdfDocument(first)
        for code in zxingcpp.read_barcodes(page.render(scale=4).to_pil().convert("L"))
    }
    assert found == set(Tag.objects.values_list("url", flat=True))


def test_the_last_good_label_is_asked_for_and_the_rest_spoiled(desk: Desk) -> None:
    run = begin(desk, 3)
    desk.press("send").press("confirm", last_good="2")
    assert "2 good, 1 spoiled" in desk.text
    assert run.tags.get(place=3).state == TagState.SPOILED
    assert not any(form.does in ("send", "confirm") for form in desk.forms)


def test_a_double_tap_reserves_one_run(desk: Desk) -> None:
    desk.open("/bench/labels/")
    filled = desk.filled("begin", count="4", printer="")
    desk.send(filled)
    desk.send(filled)
    assert PrintRun.objects.count() == 1


def test_a_count_that_no_run_has_is_shown_beside_its_field(desk: Desk) -> None:
    for count in ("0", "501", "many", ""):
        desk.open("/bench/labels/").press("begin", count=count, printer="")
        assert desk.status == 422
    desk.open("/bench/labels/").press("begin", count="2", printer="tcp://198.51.100.7:9100")
    assert desk.status == 422
    assert not PrintRun.objects.exists()


def test_a_run_goes_to_a_printer_of_the_settings(desk: Desk, settings: Any) -> None:
    with raw_port() as sink:
        settings.PRINTERS = json.dumps({"bench": {"address": f"tcp://127.0.0.1:{sink.port}"}})
        run = begin(desk, 1, "bench")
        desk.press("send")
        received = sink.finished()
    assert "Labels sent to bench: 1." in desk.text
    assert received.count(b"^XA") == 1
    assert run.tags.get().printed == Printed.SENT


def test_a_printer_that_is_not_there_stops_the_run_and_asks(desk: Desk, settings: Any) -> None:
    settings.PRINTERS = json.dumps({"bench": {"address": "tcp://127.0.0.1:9"}})
    run = begin(desk, 2, "bench")
    desk.press("send")
    assert "STOPPED" in desk.text
    assert [tag.printed for tag in run.tags.order_by("place")] == ["sent", "reserved"]
    desk.press("confirm", last_good="0")
    assert run.tags.filter(state=TagState.SPOILED).count() == 2


def test_a_printer_that_left_the_settings_is_refused(desk: Desk, settings: Any) -> None:
    settings.PRINTERS = json.dumps({"bench": {"address": "tcp://127.0.0.1:9"}})
    begin(desk, 2, "bench")
    settings.PRINTERS = ""
    desk.press("send")
    assert desk.status == 409
    assert "no longer in the settings" in desk.text


def test_a_run_that_never_was_is_not_found(desk: Desk) -> None:
    assert desk.open("/bench/labels/99/").status == 404
