"""A lab without a program attaches the check of the day to its record by a form."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import Settings

from cylinders.models import Attachment, FileKind, TestRecord
from cylinders.queries.verification import verify
from tests import files, makers
from tests.api.pages.bench.desk import Desk
from tests.api.v1.lab import LabClient, body, make_lab_client, order_at

PAGE = "/lab/records/HELD-1/"


@pytest.fixture(autouse=True)
def noon(settings: Settings, tmp_path: Path) -> Iterator[None]:
    """Noon, nothing counted yet, and a storage of its own."""
    cache.clear()
    settings.STORAGES = files.storages_in(tmp_path)
    with time_machine.travel(makers.NOON):
        yield


def signed_in(lab: LabClient) -> Client:
    browser = Client()
    assert browser.post("/lab/sign-in/", {"key": lab.key}).status_code == 302
    return browser


@pytest.fixture
def lab(db: None) -> LabClient:
    makers.technician_one()
    made = make_lab_client()
    order_at(made.lab)
    assert made.post(body(reference="HELD-1")).status == 201
    return made


def send(browser: Client, raw: bytes, name: str = "check.pdf", **more: Any) -> Any:
    sent = {"shows": "calibration", "paper": SimpleUploadedFile(name, raw)} | more
    return browser.post(PAGE, sent)


def test_the_check_of_the_day_is_attached_listed_and_given_back(lab: LabClient) -> None:
    browser = signed_in(lab)
    assert b'enctype="multipart/form-data"' in browser.get(PAGE).content
    assert send(browser, files.paper()).status_code == 302
    assert send(browser, files.paper()).status_code == 302
    paper = Attachment.objects.get()
    assert (paper.kind, paper.shows) == (FileKind.PAPER, "calibration")
    assert paper.record == TestRecord.objects.get()
    assert "The check of the day" in browser.get(PAGE).content.decode()
    given = browser.get(f"{PAGE}papers/{paper.pk}/")
    assert given.content == files.paper()
    assert given.headers["Content-Disposition"].startswith("attachment; ")
    assert verify().problems == ()


def test_a_paper_that_is_none_is_refused_by_its_name_and_the_choice_stays(lab: LabClient) -> None:
    browser = signed_in(lab)
    answer = send(browser, files.locked_paper(), "locked.pdf", shows="chart")
    assert answer.status_code == 422
    said = answer.content.decode()
    assert "locked.pdf: The PDF is locked." in said
    assert re.search('<input[^>]*value="chart"[^>]* checked', said)
    assert send(browser, files.paper(), shows="love").status_code == 422
    assert browser.post(PAGE, {"shows": "chart"}).status_code == 422
    assert not Attachment.objects.exists()


def test_another_lab_and_a_stranger_neither_attach_nor_fetch(lab: LabClient) -> None:
    send(signed_in(lab), files.paper())
    address = f"{PAGE}papers/{Attachment.objects.get().pk}/"
    other = signed_in(make_lab_client("Z998"))
    assert other.get(PAGE).status_code == other.get(address).status_code == 404
    assert send(other, files.paper("other")).status_code == 404
    for path in (PAGE, address):
        answer = Client().get(path)
        assert answer.status_code == 302
        assert answer.headers["Location"] == "/lab/sign-in/"
    assert Attachment.objects.count() == 1


def test_the_bench_sees_the_paper_on_the_record_s_page(lab: LabClient) -> None:
    send(signed_in(lab), files.paper())
    desk = Desk("sam")
    record = TestRecord.objects.get()
    desk.open(f"/bench/records/{record.pk}/")
    assert "Papers of the lab" in desk.text
    assert "The check of the day" in desk.text
    paper = Attachment.objects.get()
    assert f"/bench/files/{paper.pk}/" in desk.response.content.decode()
    answer = desk.client.get(f"/bench/files/{paper.pk}/")
    assert answer.headers["Content-Disposition"].startswith("attachment; ")
