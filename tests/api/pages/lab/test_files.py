"""A lab without a program sends a file: it sees what would come of it, confirms, and mends."""

import csv
import io
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from api.batches.files import GIVEN_BACK
from api.batches.house import HOUSE
from api.models import BatchLine, FileMapping, ResultBatch
from cylinders.models import TestRecord, WorkOrder
from cylinders.queries.verification import verify
from tests import makers
from tests.api.v1.lab import LabClient, make_lab_client, order_at, send_to

pytestmark = pytest.mark.django_db(transaction=True)

FILES, SIGN_IN = "/lab/files/", "/lab/sign-in/"
GOOD = {
    "cylinder authority": "DOT",
    "cylinder specification": "3AL",
    "cylinder manufacturer_mark": "M9999",
    "cylinder service_pressure value": "3000",
    "cylinder service_pressure unit": "psi",
    "date": "2026-11-20",
    "method": "water_jacket",
    "test_pressure value": "5000",
    "test_pressure unit": "psi",
    "hold_seconds": "32",
    "total_expansion value": "70.0",
    "total_expansion unit": "cc",
    "permanent_expansion value": "0.9",
    "permanent_expansion unit": "cc",
    "visual internal": "pass",
    "visual external": "pass",
    "use": "scuba",
    "disposition": "passed",
    "operator": "op 4",
    "rin": "Z999",
    "stamp month": "11",
    "stamp year": "2026",
}


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    cache.clear()
    with time_machine.travel(makers.NOON, tick=True):
        yield


@pytest.fixture
def lab() -> LabClient:
    makers.technician_one()
    client = make_lab_client()
    order_at(client.lab)
    for serial in ("ZZ1", "ZZ2"):
        order_at(client.lab, serial)
    return client


@pytest.fixture
def browser(lab: LabClient) -> Client:
    client = Client()
    client.post(SIGN_IN, {"key": lab.key})
    return client


def sheet(*rows: dict[str, str]) -> bytes:
    out = io.StringIO()
    writer = csv.DictWriter(out, [column.column for column in HOUSE.columns])
    writer.writeheader()
    writer.writerows(GOOD | row for row in rows)
    return out.getvalue().encode()


def row(serial: str, reference: str, **changes: str) -> dict[str, str]:
    return {"cylinder serial": serial, "lab_reference": reference} | changes


def choose(browser: Client, content: bytes, name: str = "week.csv", mapping: str = "") -> Any:
    sent = {"file": SimpleUploadedFile(name, content), "mapping": mapping}
    return browser.post(FILES, sent)


def test_a_file_is_looked_at_confirmed_mended_and_sent_again(
    lab: LabClient, browser: Client
) -> None:
    content = sheet(
        row("KX40417", "W-1"),
        row("ZZ1", "W-2", date="2026-13-20", operator="=cmd"),
        row("NEVERSEEN", "W-3"),
    )
    looked = choose(browser, content)
    assert looked.status_code == 302
    page = browser.get(looked.headers["Location"])
    text = page.content.decode()
    assert "What would come of it" in text
    assert "/date" in text
    assert "Refresh" not in page.headers
    assert not TestRecord.objects.exists()
    stored = browser.post(looked.headers["Location"], {"mode": "lines"})
    there = stored.headers["Location"]
    text = browser.get(there).content.decode()
    assert "What came of it" in text
    assert 'href="/lab/records/W-1/"' in text
    assert TestRecord.objects.count() == 1
    saved = browser.get(f"{there}to-mend.csv")
    assert saved.headers["Content-Type"] == "text/csv"
    given = saved.content.decode("utf-8-sig")
    (back,) = csv.DictReader(io.StringIO(given))
    assert (back[GIVEN_BACK[0]], back["operator"]) == ("3", "'=cmd")
    assert "/date" in back[GIVEN_BACK[1]]
    mended = given.replace("2026-13-20", "2026-11-20").encode("utf-8-sig")
    again = choose(browser, mended)
    browser.post(again.headers["Location"], {"mode": "whole"})
    assert TestRecord.objects.get(lab_reference="W-2").body.count('"=cmd"') == 1
    # a third time: nothing new
    browser.post(again.headers["Location"], {"mode": "lines"})
    assert TestRecord.objects.count() == 2
    assert verify().ok


def test_a_page_that_waits_asks_for_itself_again(lab: LabClient, browser: Client) -> None:
    batch = ResultBatch.objects.create(
        lab=lab.lab, digest="x", dry_run=True, content="{}", total=1, received_at=makers.NOON
    )
    page = browser.get(f"{FILES}{batch.pk}/")
    assert page.headers["Refresh"] == "3"
    assert "0 of 1 lines done" in page.content.decode()


def test_another_lab_sees_nothing_of_it(lab: LabClient, browser: Client) -> None:
    place = choose(browser, sheet(row("KX40417", "W-1"))).headers["Location"]
    other = Client()
    other.post(SIGN_IN, {"key": make_lab_client("Z998").key})
    for path in (place, f"{place}to-mend.csv"):
        assert other.get(path).status_code == 404
    assert other.post(place, {"mode": "lines"}).status_code == 404


def test_a_file_without_a_good_line_offers_nothing_to_store(browser: Client) -> None:
    bad = b'{"lab_reference": "A-1", "hold_seconds": "long"}'
    answer = browser.post("/lab/files/", {"file": SimpleUploadedFile("x.ndjson", bad)}, follow=True)
    page = answer.content.decode()
    assert "nothing here can be" in page
    assert "Store it" not in page
    assert page.count("is not a plain decimal number") == 1, "each fault is told once"


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("week.xlsx", b"PK\x03\x04", "ends in .csv"),
        ("week.csv.exe", sheet(), "ends in .csv"),
        ("week.csv", b"PK\x03\x04\x00\x00", "it is no text"),
        ("week.csv", b"serial;date\r\n", "The heading has no"),
        ("week.csv", b"\xff\xfe\x00", "The file is not utf-8"),
        ("week.xml", b"<r>", "no XML"),
        ("week.csv", sheet(), "no line"),
        ("week.csv", b"", "empty"),
    ],
)
@pytest.mark.sampled(of=4)
def test_a_file_that_cannot_be_read_is_told_on_the_page(
    browser: Client, name: str, content: bytes, says: str
) -> None:
    answer = choose(browser, content, name)
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not ResultBatch.objects.exists()


def test_a_saved_mapping_can_be_chosen(lab: LabClient, browser: Client) -> None:
    columns = [{"column": one.column, "field": one.field} for one in HOUSE.columns]
    how = {
        "columns": columns,
        "delimiter": ";",
        "encoding": "windows-1252",
        "decimal": ".",
        "date_order": "YMD",
    }
    FileMapping.objects.create(lab=lab.lab, name="bench", content=how, saved_at=makers.NOON)
    content = sheet(row("KX40417", "W-1", operator="Müller", date="x")).decode().replace(",", ";")
    looked = choose(browser, content.encode("windows-1252"), mapping="bench")
    assert looked.status_code == 302, looked.content.decode()
    given = browser.get(f"{looked.headers['Location']}to-mend.csv").content
    assert "Müller" in given.decode("windows-1252")
    assert b";" in given


def test_the_model_file_has_every_column(browser: Client) -> None:
    given = browser.get(f"{FILES}model.csv").content.decode()
    assert given.strip().split(",") == [column.column for column in HOUSE.columns]


def line_that_waits(browser: Client, content: bytes) -> tuple[Client, str]:
    """Send a file with one line that names no one cylinder: who decides, and where."""
    looked = choose(browser, content)
    browser.post(looked.headers["Location"], {"mode": "lines"})
    line = BatchLine.objects.get(outcome="waiting", batch__dry_run=False)
    bench = Client()
    bench.force_login(makers.technician_one())
    return bench, f"/bench/lab-files/{line.pk}/"


def test_a_person_at_the_bench_names_the_cylinder(lab: LabClient, browser: Client) -> None:
    twin = makers.receive(serial="KX40417")
    makers.take_down(twin)
    send_to(lab.lab, twin)
    bench, place = line_that_waits(browser, sheet(row("KX40417", "W-1")))
    assert place in bench.get("/bench/lab-files/").content.decode()
    assert "names no one cylinder" in bench.get("/bench/").content.decode()
    assert "2 cylinders sent to you bear these marks" in bench.get(place).content.decode()
    named = {"do": "name", "cylinder": str(twin.cylinder_id), "reason": "tag"}
    assert bench.post(place, named | {"reason": ""}).status_code == 422
    assert bench.post(place, named).status_code == 302
    assert TestRecord.objects.get().cylinder_id == twin.cylinder_id
    assert "Decided by tessa" in bench.get(place).content.decode()
    assert WorkOrder.objects.count() == 4
    assert verify().ok


def test_a_line_that_was_refused_and_waits_for_nobody_has_no_page(
    lab: LabClient, browser: Client
) -> None:
    bench, place = line_that_waits(browser, sheet(row("KX4O471", "W-1")))
    BatchLine.objects.filter(batch__dry_run=False).update(outcome="refused")
    assert bench.get(place).status_code == 404


def test_what_is_most_like_the_line_comes_first_with_the_marks_that_differ(
    lab: LabClient, browser: Client
) -> None:
    order_at(lab.lab, "KX40471")
    other = makers.receive(serial="ZZ1", manufacturer_mark="M8888")
    makers.take_down(other)
    send_to(lab.lab, other)
    bench, place = line_that_waits(browser, sheet(row("KX4O471", "W-1")))
    page = bench.get(place).content.decode()
    near, far = "no. KX40471 (differs: serial)", "no. ZZ1 (differs: serial, manufacturer mark)"
    assert 0 < page.index(near) < page.index(far)
