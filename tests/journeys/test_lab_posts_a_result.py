"""A lab's whole way, by a program and by hand: key, list, test, record, correction of a slip."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client

from api import keys
from cylinders import history
from cylinders.models import Cylinder, TestRecord, WorkOrder
from cylinders.operations import consignment, retest
from cylinders.queries.verification import verify
from tests import makers
from tests.api.v1.lab import BY, RECORDS, LabClient, make_lab_client, order_at, tag_of

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

POSTS = Path(__file__).parents[2] / "fixtures" / "lab_posts"


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    cache.clear()
    with time_machine.travel(makers.NOON, tick=True):
        yield


def posted(name: str, **changes: Any) -> dict[str, Any]:
    """A body as it lies in ``fixtures/lab_posts``."""
    body: dict[str, Any] = json.loads((POSTS / name).read_text(encoding="utf-8"))
    return body | changes


def kinds(cylinder: Cylinder) -> list[str]:
    return [entry.kind.value for entry in history.timeline(cylinder.pk)]


def sent_to_a_lab(serial: str) -> tuple[LabClient, WorkOrder]:
    makers.technician_one()
    lab = make_lab_client()
    return lab, order_at(lab.lab, serial)


def test_a_program_lists_posts_reads_and_retries() -> None:
    lab, order = sent_to_a_lab("QX104417")
    code = tag_of(order).code
    [item] = lab.get("/api/v1/cylinders").json["items"]
    assert (item["tag"], item["serial"]) == (code, "QX104417")

    body = posted("passed.json")
    body["cylinder"]["tag"] = item["tag"]
    first = lab.post(body, key="9f0c2a51")
    assert (first.status, first.json["verdict"], first.json["state"]) == (201, "passed", "attached")
    assert lab.post(body, key="9f0c2a51").raw == first.raw  # the line broke before the answer

    assert lab.get(first.headers["Location"]).json["body"] == body
    [item] = lab.get("/api/v1/cylinders").json["items"]
    assert item["records"] == [body["lab_reference"]]

    consignment.take_back(work_order_id=order.pk, at=makers.NOON, by=BY)
    assert lab.get("/api/v1/cylinders").json["items"] == []
    cylinder = Cylinder.objects.get()
    assert (cylinder.requalified, cylinder.requalified_rin) == ("2026-11", "Z999")
    assert kinds(cylinder).count("retest:record:attached") == 1
    assert verify().ok


def test_a_contradiction_waits_for_a_person_whose_decision_the_lab_can_read() -> None:
    lab, _order = sent_to_a_lab("QX104417")
    body = posted("passed.json", stamp={"month": 10, "year": 2026, "symbol": None})
    held = lab.post(body)
    assert (held.status, held.json["state"]) == (201, "held")
    record = TestRecord.objects.get()
    retest.decide_held(
        record_id=record.pk,
        attach=False,
        reason="the stamp says October; the lab sends it again",
        at=makers.NOON,
        by=BY,
    )
    assert lab.get(f"{RECORDS}/{body['lab_reference']}").json["state"] == "dismissed"
    again = lab.post(posted("passed.json", lab_reference="NG-2026-0418"))
    assert again.json["state"] == "attached"
    assert kinds(Cylinder.objects.get())[-3:] == [
        "retest:record:held",
        "retest:record:dismissed",
        "retest:record:attached",
    ]
    assert verify().ok


def test_a_lab_changes_its_key_over_without_a_gap() -> None:
    lab, _order = sent_to_a_lab("QX104417")
    fresh = LabClient(lab.lab, keys.issue(lab_id=lab.lab.pk, at=makers.NOON).text)
    assert {one.get("/api/v1/cylinders").status for one in (lab, fresh)} == {200}
    keys.revoke(prefix=lab.key[:8], at=makers.NOON)
    assert lab.post(posted("passed.json")).code == "key_revoked"
    assert fresh.post(posted("passed.json")).status == 201


def test_an_operator_scans_enters_looks_and_sends() -> None:
    lab, order = sent_to_a_lab("QX104417")
    browser = Client()
    browser.post("/lab/sign-in/", {"key": lab.key})
    form = browser.get("/lab/", {"code": tag_of(order).url}).headers["Location"]
    page = browser.get(form).content.decode()
    filled = {
        found[1]: found[2] for found in re.finditer(r'name="(\w+)" value="([^"]*)"', page)
    } | {
        found[1]: chosen[1]
        for found in re.finditer(r'<select name="(\w+)".*?</select>', page, re.DOTALL)
        if (chosen := re.search(r'value="(\w*)" selected', found[0]))
    }
    typed = filled | {
        "serial": "QX104417",
        "operator": "op 4",
        "test_pressure": "5000",
        "hold_seconds": "31",
        "total_expansion": "70.4",
        "permanent_expansion": "1.2",
        "check_serial": "CAL-7",
        "check_points": "4000 50.6\n5000 63.4",
        "check_pressure": "5000",
        "check_expansion": "63.5",
        "check_permanent": "0.0",
        "internal": "pass",
        "external": "pass",
        "standard": "CGA C-6.1",
        "thread": "pass",
        "thread_method": "scope",
        "drying": "hot water",
        "drying_c": "71",
        "disposition": "passed",
        "stamp_month": "11",
        "stamp_year": "2026",
    }
    looked = browser.post(form, typed).content.decode()
    seen = re.search(r'name="seen" value="(\w+)"', looked)
    assert seen is not None, looked
    assert not TestRecord.objects.exists()
    answer = browser.post(form, typed | {"seen": seen[1]})
    assert answer.status_code == 302
    record = TestRecord.objects.get()
    assert (record.verdict, record.state) == ("passed", "attached")
    assert lab.get(f"{RECORDS}/{record.lab_reference}").json["verdict"] == "passed"
    assert verify().ok
