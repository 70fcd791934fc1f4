"""Printing without a printer: what leaves is what was drawn, and every failure has its name."""

import json
import socket

import pytest
from PIL import Image
from zebrafy.zebrafy_zpl import ZebrafyZPL

from labels import render_pdf, render_raster
from labels.printing import (
    Printer,
    PrinterFault,
    PrinterSettingFault,
    Unclear,
    ipp,
    printers,
    raw,
    send,
    zpl,
)
from labels.sheets.media import A4, LETTER, READY_CUT, ROLL_4X6, ROLL_62, Roll
from tests.labels.printing.sinks import Office, office, raw_port
from tests.labels.samples import URL, cylinder_tag, pages, read_all, tags


def from_zpl(commands: bytes) -> list[Image.Image]:
    """The pictures in a stream of ZPL labels, by a library that is not ours."""
    labels = commands.decode("ascii").strip().split("^XZ")
    pictures = []
    for label in filter(None, labels):
        pictures += ZebrafyZPL(label + "^XZ").to_images()
    return [picture.convert("1") for picture in pictures]


def same_dots(one: Image.Image, other: Image.Image) -> bool:
    """Equal pixel by pixel where both are; the other may be padded to whole bytes with white."""
    padded = other.convert("1").crop((one.width, 0, other.width, other.height))
    white = padded.width == 0 or padded.convert("L").getextrema() == (255, 255)
    return white and one.tobytes() == other.crop((0, 0, *one.size)).convert("1").tobytes()


@pytest.mark.parametrize("packed", [True, False])
@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.sampled(of=3)
def test_another_readers_picture_of_the_zpl_is_ours_dot_for_dot(packed: bool, dpi: int) -> None:  # noqa: FBT001 - a column of the table
    """Dots are compared, not only what they decode to: a negative would decode as well."""
    for content in tags().values():
        drawn = render_raster.image(content.faces()[0], dpi=dpi, roll=ROLL_62)
        [back] = from_zpl(zpl.label(drawn, packed=packed))
        assert same_dots(drawn, back)
        assert read_all(back) == [URL, URL]


def test_packed_zpl_is_a_tenth_of_the_plain() -> None:
    drawn = render_raster.image(cylinder_tag().faces()[0], dpi=203)
    assert len(zpl.label(drawn)) * 10 < len(zpl.label(drawn, packed=False))


def test_only_dots_are_printed_as_zpl() -> None:
    with pytest.raises(ValueError, match="1-bit"):
        zpl.label(Image.new("L", (8, 8)))


def test_a_raw_printer_gets_each_face_as_a_label() -> None:
    teardown = tags()["teardown"]
    with raw_port() as sink:
        printer = Printer("bench", f"tcp://127.0.0.1:{sink.port}", ROLL_62, 203)
        assert send(printer, [teardown, cylinder_tag()], name="run 1") is None
        pictures = from_zpl(sink.finished())
    faces = [*teardown.faces(), *cylinder_tag().faces()]
    assert len(pictures) == len(faces) == 3
    for face, picture in zip(faces, pictures, strict=True):
        assert same_dots(render_raster.image(face, dpi=203, roll=ROLL_62), picture)


def test_the_same_run_sends_the_same_bytes_again() -> None:
    received = []
    for _ in range(2):
        with raw_port() as sink:
            printer = Printer("bench", f"tcp://127.0.0.1:{sink.port}", ROLL_4X6, 300)
            send(printer, list(tags().values()), name="run 1")
            received.append(sink.finished())
    assert received[0] == received[1]


def test_a_printer_that_is_off_has_printed_nothing() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
    with pytest.raises(PrinterFault, match="does not answer"):
        raw.send("127.0.0.1", port, b"x")
    with pytest.raises(PrinterFault, match="does not answer"):
        ipp.print_job(f"ipp://127.0.0.1:{port}/ipp", b"x", name="x")


def test_a_connection_that_breaks_midway_is_unclear_and_not_a_failure() -> None:
    with raw_port(close_after=1) as sink, pytest.raises(Unclear, match="broke while printing"):
        raw.send("127.0.0.1", sink.port, b"x" * 50_000_000, timeout=5)


def test_an_ipp_printer_gets_the_pdf_and_answers_with_a_job() -> None:
    with office(Office()) as printer:
        named = Printer("office", printer.address, A4)
        job = send(named, [cylinder_tag()], name="Run 12, Zoë")
    assert job == ipp.Job(number=7, state=3)
    [request] = printer.requests
    assert (request["path"], request["type"]) == ("/ipp/print", "application/ipp")
    assert (request["version"], request["operation"]) == ((2, 0), 0x0002)
    assert request["document"] == render_pdf.pdf([cylinder_tag()], A4, title="Run 12, Zoë")
    [page] = pages(request["document"], 300)
    assert read_all(page) == [URL, URL]


def test_the_request_is_what_rfc_8011_asks_of_print_job() -> None:
    """RFC 8011 4.1.4: charset, then language, then the target first in the operation group."""
    with office(Office()) as printer:
        ipp.print_job(printer.address, b"%PDF", name="Run 12, Zoë", user="tessa")
    (operation, first), (job, second) = printer.requests[0]["groups"]
    assert (operation, job) == (0x01, 0x02)
    assert list(first)[:3] == ["attributes-charset", "attributes-natural-language", "printer-uri"]
    assert first["attributes-charset"] == (0x47, "utf-8")
    assert first["printer-uri"] == (0x45, printer.address)
    assert first["requesting-user-name"] == (0x42, "tessa")
    assert first["job-name"] == (0x42, "Run 12, Zoë")
    assert first["document-format"] == (0x49, "application/pdf")
    assert second == {"print-scaling": (0x44, "none")}


@pytest.mark.parametrize(
    ("printer", "says"),
    [
        (Office(status=0x0507), "refused the job: status 0x0507 out of labels"),
        (Office(status=0x040B), "refused"),
        (Office(http_status=403), "HTTP 403"),
        (Office(http_status=302), "HTTP 302"),
    ],
)
def test_a_refused_job_has_printed_nothing(printer: Office, says: str) -> None:
    with office(printer), pytest.raises(PrinterFault, match=says):
        ipp.print_job(printer.address, b"%PDF", name="x")


@pytest.mark.parametrize(
    "printer",
    [
        Office(hang_up=True),
        Office(answer=b""),
        Office(answer=b"<html>hello</html>"),
        Office(answer=b"\x02\x00\x00\x00\x00\x00\x00\x01\x02\x21\x00\x06job-id\x00\x04\x00"),
        Office(answer=b"\x02\x00\x00\x00\x00\x00\x00\x01\x02\x21\x00\x06job-id\x00\x01\x07\x03"),
    ],
)
def test_an_answer_that_is_none_leaves_the_job_unclear(printer: Office) -> None:
    with office(printer), pytest.raises(Unclear):
        ipp.print_job(printer.address, b"%PDF", name="x")


SETTING = {
    "bench": {"address": "tcp://192.0.2.10:9100", "dpi": 300, "roll": "4x6"},
    "office": {"address": "ipp://192.0.2.11/ipp/print", "page": "letter"},
    "cut": {"address": "ipps://printer.example.org/ipp", "page": "a4-8", "offset": [0.5, -1]},
}


def test_printers_are_those_that_the_setting_names() -> None:
    named = printers(json.dumps(SETTING))
    assert list(named) == ["bench", "office", "cut"]
    assert named["bench"] == Printer("bench", "tcp://192.0.2.10:9100", ROLL_4X6, 300)
    assert named["office"].medium is LETTER
    assert named["cut"].medium == READY_CUT["a4-8"].moved(0.5, -1)
    assert printers("") == printers("  ") == {}


@pytest.mark.parametrize(
    ("setting", "says"),
    [
        ("{", "no JSON"),
        ("[]", "object of objects"),
        ('{"a": 1}', "object of objects"),
        ('{"a": {}}', "must begin with tcp://"),
        ('{"a": {"address": "http://192.0.2.1/"}}', "must begin with tcp://"),
        ('{"a": {"address": "file:///etc/passwd"}}', "must begin with tcp://"),
        ('{"a": {"address": "tcp://"}}', "must begin with tcp://"),
        ('{"a": {"address": "tcp://x:99999"}}', "must begin with tcp://"),
        ('{"a": {"address": "tcp://x", "dpi": 150}}', "dpi must be one of"),
        ('{"a": {"address": "tcp://x", "roll": "63mm"}}', "is none of 62mm"),
        ('{"a": {"address": "tcp://x", "colour": true}}', "unknown colour"),
        ('{"a": {"address": "ipp://x", "page": "a4", "offset": [1, 1]}}', "ready-cut"),
        ('{"a": {"address": "ipp://x", "page": "a4-8", "offset": [1]}}', "offset"),
        (
            '{"a": {"address": "ipp://x", "page": "a4-8", "offset": [99, 0]}}',
            "offset.*leave the a4 page",
        ),
        ('{"a": {"address": "ipp://x", "page": "a4-8", "offset": ["x", 0]}}', "offset"),
    ],
)
def test_a_setting_that_cannot_be_used_says_why(setting: str, says: str) -> None:
    with pytest.raises(PrinterSettingFault, match=says):
        printers(setting)


def test_dots_are_only_sent_to_a_roll() -> None:
    with pytest.raises(PrinterSettingFault, match="needs a roll"):
        send(Printer("x", "tcp://127.0.0.1:9", A4), [cylinder_tag()], name="x")


def test_a_label_that_cannot_be_drawn_never_reaches_the_printer() -> None:
    narrow = Printer("x", "tcp://127.0.0.1:9", Roll("29mm", 29.0))
    with pytest.raises(ValueError, match="does not fit 29mm"):
        send(narrow, [cylinder_tag()], name="x")
