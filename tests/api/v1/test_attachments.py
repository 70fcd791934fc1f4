"""Papers to a record by the interface: kept as they are, told with their SHA-256, given back."""

import hashlib
from pathlib import Path
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.test import Client
from PIL import Image
from pytest_django import Settings

from api import papers
from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Attachment, StoredFile, TestRecord
from cylinders.operations import papers as operation
from cylinders.queries.verification import verify
from tests import files
from tests.api.v1.lab import RECORDS, LabClient, body, make_lab_client

pytestmark = pytest.mark.django_db

ADDRESS = f"{RECORDS}/HELD-1/attachments"
PDF = files.paper()


@pytest.fixture
def held(lab: LabClient, settings: Settings, tmp_path: Path) -> LabClient:
    """The lab has sent one record; the files of this test have a folder of their own."""
    settings.STORAGES = files.storages_in(tmp_path)
    assert lab.post(body(reference="HELD-1")).status == 201
    return lab


def attach(lab: LabClient, raw: bytes = PDF, **changes: Any) -> Any:
    return lab.attach(raw, reference="HELD-1", **changes)


@pytest.mark.both_engines
@pytest.mark.parametrize(
    ("media_type", "raw"),
    [
        ("application/pdf", PDF),
        ("image/jpeg", files.photo()),
        ("image/png", files.saved(files.picture(), "PNG")),
    ],
)
def test_a_paper_is_kept_told_listed_and_given_back_to_the_byte(
    held: LabClient, media_type: str, raw: bytes
) -> None:
    answer = attach(held, raw, media_type=media_type)
    assert answer.status == 201
    told = answer.json
    assert told["sha256"] == hashlib.sha256(raw).hexdigest()
    assert (told["media_type"], told["size"], told["shows"]) == (
        media_type,
        len(raw),
        "calibration",
    )
    assert answer.headers["Location"] == told["content"]
    assert held.get(ADDRESS).json == {"items": [told], "next": None}
    given = held.get(told["content"], accept=media_type)
    assert given.raw == raw
    assert given.headers["Content-Type"] == media_type
    assert given.headers["Content-Disposition"].startswith("attachment; filename=")
    assert given.headers["X-Content-Type-Options"] == "nosniff"
    assert given.headers["Cache-Control"] == "private, no-store"
    assert "sandbox" in given.headers["Content-Security-Policy"]
    record = TestRecord.objects.get()
    [event] = [e for e in history.timeline(record.cylinder_id) if e.kind is Kind.FILE_ADDED]
    assert event.facts["sha256"] == told["sha256"]
    assert event.facts["record"] == record.pk
    assert event.by == f"lab:{held.lab.pk}"
    assert verify().problems == ()


def test_the_same_key_is_answered_with_the_same_bytes_and_another_body_is_refused(
    held: LabClient,
) -> None:
    first = attach(held, key="k-1")
    assert attach(held, key="k-1").raw == first.raw
    assert Attachment.objects.count() == 1
    for other in (
        attach(held, files.paper("other"), key="k-1"),
        attach(held, key="k-1", shows="chart"),
    ):
        assert (other.status, other.code) == (422, "idempotency_key_reused")
    assert Attachment.objects.count() == 1


def test_the_same_content_under_another_key_is_held_already(held: LabClient) -> None:
    first, second = attach(held), attach(held)
    assert (first.status, second.status) == (201, 200)
    assert second.json == first.json


def test_without_a_key_nothing_is_stored(held: LabClient) -> None:
    answer = held.send("POST", ADDRESS, PDF, "application/pdf")
    assert (answer.status, answer.code) == (400, "idempotency_key_missing")
    assert not StoredFile.objects.exists()


REFUSED = (
    (b"", "file_empty"),
    (b"<html>", "file_type"),
    (files.locked_paper(), "file_locked"),
    (files.carrying_paper(), "file_active"),
    (files.acting_paper("/JavaScript", "/JS"), "file_active"),
    (files.acting_paper("/Launch", "/F"), "file_active"),
    (files.paper(pages=301), "file_too_large"),
    (PDF[: len(PDF) // 2], "file_damaged"),
    (files.photo()[:3000], "file_damaged"),
    (files.saved(files.picture(), "PNG")[:3000], "file_damaged"),
    (files.saved(files.picture(), "WEBP"), "file_type"),
    (files.png_of(20_000, 20_000, rows=9), "file_too_large"),
)


def test_what_is_no_plain_paper_is_refused_with_its_reason(held: LabClient) -> None:
    for raw, why in REFUSED:
        answer = attach(held, raw)
        assert (answer.status, answer.code) == (422, "file_refused"), why
        assert answer.json["errors"][0]["code"] == why
    assert not StoredFile.objects.exists()


def test_a_paper_of_another_type_than_it_says_is_refused(held: LabClient) -> None:
    answer = attach(held, media_type="image/png")
    assert (answer.status, answer.code) == (415, "unsupported_media_type")
    assert "the bytes are application/pdf" in answer.json["detail"]
    assert attach(held, media_type="text/html").status == 415


def test_ten_megabytes_are_the_most(held: LabClient) -> None:
    padded = PDF + b" " * (papers.MOST_BYTES - len(PDF) - 6) + b"%%EOF\n"
    assert len(padded) == papers.MOST_BYTES
    assert attach(held, padded).status == 201
    answer = attach(held, padded + b" ")
    assert (answer.status, answer.code) == (413, "body_too_large")


def test_a_record_has_at_most_twenty(held: LabClient, monkeypatch: pytest.MonkeyPatch) -> None:
    assert operation.MOST == 20
    monkeypatch.setattr(operation, "MOST", 2)
    assert [attach(held, files.paper(text)).status for text in "abc"] == [201, 201, 409]
    assert attach(held, files.paper("d")).code == "too_many_attachments"
    assert Attachment.objects.count() == 2
    assert verify().problems == ()


@pytest.mark.parametrize("query", ["?shows=love", "?shows=chart&shows=chart", "?other=1"])
def test_an_unknown_word_in_the_address_is_refused(held: LabClient, query: str) -> None:
    answer = held.send("POST", ADDRESS + query, PDF, "application/pdf", idempotency_key="k")
    assert (answer.status, answer.code) == (400, "invalid_query")


def test_another_lab_finds_nothing_by_any_way(held: LabClient) -> None:
    address = attach(held).json["content"]
    other = make_lab_client("Z998")
    assert other.get(ADDRESS).code == "not_found"
    assert other.get(address).code == "not_found"
    assert attach(other).code == "not_found"
    # Its own record of the same reference does not open the first lab's paper either.
    number = address.rpartition("/")[2]
    TestRecord.objects.create(
        lab=other.lab,
        lab_reference="HELD-1",
        cylinder=TestRecord.objects.get().cylinder,
        received_at=TestRecord.objects.get().received_at,
        tested_on=TestRecord.objects.get().tested_on,
        body="{}",
        answer={},
        verdict="passed",
        state="held",
    )
    assert other.get(f"{ADDRESS}/{number}").status == 404
    assert other.get(ADDRESS).json == {"items": [], "next": None}
    assert Client().get(address).status_code == 401


def test_a_paper_whose_bytes_are_lost_is_said_to_be(held: LabClient) -> None:
    address = attach(held).json["content"]
    default_storage.delete(StoredFile.objects.get().key)
    answer = held.get(address)
    assert (answer.status, answer.code) == (410, "file_lost")
    assert attach(held).status == 200
    assert held.get(address).raw == PDF


def test_a_full_store_is_told_and_the_same_key_works_afterwards(
    held: LabClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> str:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(default_storage, "save", full)
        answer = attach(held, key="k-9")
    assert (answer.status, answer.code) == (503, "busy")
    assert answer.headers["Retry-After"] == "60"
    assert "No space left on device" in answer.json["detail"]
    assert attach(held, key="k-9").status == 201


@pytest.mark.parametrize("kind", ["file_refused", "too_many_attachments", "file_lost"])
def test_each_new_problem_has_its_page(client: Client, kind: str) -> None:
    assert client.get(f"/problems/{kind}").status_code == 200


def test_a_picture_of_a_scanned_page_is_judged_by_its_header_alone(
    held: LabClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    raw = files.saved(files.picture())

    def never(*_: object) -> None:
        raise AssertionError("decoded")

    monkeypatch.setattr(Image.Image, "load", never)
    assert attach(held, raw, media_type="image/jpeg").status == 201
