"""The demonstration does every step, prints tags that read back, and never touches a real shop."""

import io
import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
import zxingcpp
from django.core.management import call_command
from django.test import Client, override_settings
from PIL import Image
from pytest_django import DjangoDbBlocker

from api.demo.dates import fill_in, months_ago
from cylinders import history
from cylinders.models import Cylinder
from tests import append_only, makers

pytestmark = pytest.mark.django_db

#: The steps of one job, from drop-off to collection, and the exits; "wrong part" is the heart.
STEPS = [
    "intake",
    "teardown",
    "dispatch",
    "lab",
    "return",
    "inspection",
    "wrong part refused",
    "reassembly",
    "overfill refused",
    "fill",
    "ready",
    "collected",
    "condemned",
    "reminders",
    "verify",
]


@pytest.fixture(scope="module")
def report(
    django_db_setup: None,
    django_db_blocker: DjangoDbBlocker,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[dict[str, Any]]:
    """One run of the demonstration for all tests here, cleared away after the last."""
    folder = tmp_path_factory.mktemp("demo")
    with django_db_blocker.unblock(), override_settings(VAR_DIR=folder):
        call_command("demo", "--once", stdout=io.StringIO())
    yield json.loads((folder / "demo" / "report.json").read_text())
    with django_db_blocker.unblock():
        append_only.clear()


def test_every_step_does_what_it_should(report: dict[str, Any]) -> None:
    assert [step["name"] for step in report["steps"]] == STEPS
    assert [step["n"] for step in report["steps"]] == list(range(1, len(STEPS) + 1))
    assert report["ok"] is True
    assert all(step["ok"] and step["says"] for step in report["steps"])


def test_every_printed_tag_reads_back_as_the_address_in_the_report(report: dict[str, Any]) -> None:
    assert sorted(tag["kind"] for tag in report["tags"]) == ["bag", "cylinder", "kit", "teardown"]
    for tag in report["tags"]:
        found = zxingcpp.read_barcodes(Image.open(tag["png"]).convert("L"))
        assert [code.text for code in found] == [tag["url"]] * 2
        assert tag["url"].endswith(tag["code"])


def test_every_pdf_reads_back_as_the_address_in_the_report(report: dict[str, Any]) -> None:
    pdfium = pytest.importorskip("pypdfium2")
    for tag in report["tags"]:
        page = pdfium.PdfDocument(tag["pdf"])[0]
        picture = page.render(scale=300 / 72).to_pil().convert("L")
        assert {code.text for code in zxingcpp.read_barcodes(picture)} == {tag["url"]}


def test_the_passwords_and_the_key_of_the_report_work(report: dict[str, Any]) -> None:
    account = report["accounts"]["technician"]
    assert Client().login(username=account["user"], password=account["password"])
    key = report["accounts"]["lab"]["key"]
    answer = Client().get("/api/v1/cylinders", headers={"Authorization": f"Bearer {key}"})
    assert answer.status_code == 200
    assert Client().get("/api/v1/cylinders").status_code == 401


def test_the_owners_link_opens_without_a_login(report: dict[str, Any]) -> None:
    path = re.sub(r"^https?://[^/]+", "", report["addresses"]["status"])
    assert Client().get(path).status_code == 200


def test_stamps_count_back_from_today() -> None:
    today = makers.TODAY
    assert fill_in("{mark:-60} {date:-221} {un:-30}", today=today, rin="Z417") == (
        "11 Z4/71 21 6-08 2024/05"
    )
    assert months_ago(12, today=today) == "2025-11"
    assert months_ago(None, today=today) == ""


def test_the_story_never_runs_backwards(report: dict[str, Any]) -> None:
    for cylinder in Cylinder.objects.all():
        times = [entry.at for entry in history.timeline(cylinder.pk)]
        assert times == sorted(times), cylinder
