"""The interface keeps the rules of HTTP, also where nothing is found."""

import datetime as dt
import json

import pytest
import time_machine
from django.db import OperationalError
from pytest_django import DjangoAssertNumQueries, Settings

from api import posted_records
from api.problems import PROBLEMS, Problem, document
from cylinders.models import Customer
from cylinders.operations import consignment
from tests import makers
from tests.api.v1.lab import BY, RECORDS, LabClient, body, make_lab_client, order_at, tag_of

pytestmark = pytest.mark.django_db

BASE = "/api/v1/"


@pytest.mark.parametrize(
    "path",
    [
        "nothing",
        "cylinders/",
        "cylinders/1",
        "test-records/",
        "test-records/NEVER-SENT",
        "test-records/%2e%2e%2fcylinders",
        "test-records/%00",
        "file-mappings/%0A",
        "%0A",
        "cylinders%0A",
        "test-records/" + "A" * 5_000,
        "schema.json",
        "v2/cylinders",
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST"])
@pytest.mark.sampled(of=5)
def test_what_is_not_there_is_a_problem_and_no_page(lab: LabClient, method: str, path: str) -> None:
    answer = lab.send(method, BASE + path)
    assert (answer.status, answer.code) in {(404, "not_found"), (405, "method_not_allowed")}


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "BREW"])
@pytest.mark.parametrize("path", ["cylinders", "test-records", "test-records/X", "schema"])
def test_another_method_is_told_which_there_are(lab: LabClient, path: str, method: str) -> None:
    answer = lab.send(method, BASE + path)
    assert (answer.status, answer.code) == (405, "method_not_allowed")
    assert "GET" in answer.headers["Allow"]
    assert method not in answer.headers["Allow"]


@pytest.mark.parametrize("accept", ["text/html", "application/xml", "image/*"])
@pytest.mark.parametrize("path", ["cylinders", "test-records", "schema"])
def test_an_answer_is_json_or_none(lab: LabClient, path: str, accept: str) -> None:
    answer = lab.get(BASE + path, accept=accept)
    assert (answer.status, answer.code) == (406, "not_acceptable")


@pytest.mark.parametrize("accept", ["application/json", "*/*", "application/*", "text/html, */*"])
def test_json_is_given_to_whoever_can_take_it(lab: LabClient, accept: str) -> None:
    assert lab.get(f"{BASE}cylinders", accept=accept).headers["Content-Type"] == "application/json"


def test_the_schema_is_open_to_everybody(lab: LabClient) -> None:
    answer = lab.get(f"{BASE}schema", authorization="", accept="*/*")
    assert answer.status == 200
    assert answer.headers["Content-Type"] == "application/vnd.oai.openapi+json"
    plain = lab.get(f"{BASE}schema", authorization="", accept="application/json")
    assert plain.headers["Content-Type"] == "application/json"
    assert plain.json == answer.json


def test_the_request_id_of_the_lab_comes_back(lab: LabClient) -> None:
    answer = lab.get(f"{BASE}nothing", x_request_id="lab-trace-0001")
    assert answer.headers["X-Request-Id"] == "lab-trace-0001"
    assert answer.json["instance"] == "urn:request:lab-trace-0001"


def test_no_answer_is_kept_by_a_cache_or_run_by_a_browser(lab: LabClient) -> None:
    for path in ("cylinders", "nothing", "schema"):
        headers = lab.get(BASE + path).headers
        assert "no-store" in headers["Cache-Control"]
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert "default-src 'none'" in headers["Content-Security-Policy"]


def test_pages_of_a_list_follow_each_other_without_gap_or_repeat(lab: LabClient) -> None:
    for number in range(6):
        order_at(lab.lab, f"ZZ9000{number}")
    seen: list[str] = []
    address = f"{BASE}cylinders?limit=3"
    pages = 0
    while address:
        answer = lab.get(address)
        seen += [item["serial"] for item in answer.json["items"]]
        address = answer.json["next"]
        pages += 1
        if address:
            assert answer.headers["Link"] == f'<{address}>; rel="next"'
        else:
            assert "Link" not in answer.headers
    assert seen == ["KX40417", *(f"ZZ9000{number}" for number in range(6))]
    assert pages == 3


@pytest.mark.parametrize(
    "query",
    [
        "limit=0",
        "limit=201",
        "limit=1000000000",
        "limit=-1",
        "limit=ten",
        "limit=",
        "limit=1.0",
        "limit=%2B5",
        "limit=5&limit=6",
        "limit=\u0665",
        "after=-1",
        "after=99999999999999999999",
        "after=' OR 1=1",
        "page=2",
        "order=owner",
    ],
)
def test_a_query_that_means_nothing_is_refused(lab: LabClient, query: str) -> None:
    answer = lab.get(f"{BASE}cylinders?{query}")
    assert (answer.status, answer.code) == (400, "invalid_query")
    assert answer.json["errors"][0]["pointer"].startswith("?")


def test_a_thousand_parameters_are_a_mistake_like_any_other(lab: LabClient) -> None:
    answer = lab.get(f"{BASE}cylinders?" + "limit=5&" * 1_100)
    assert (answer.status, answer.code) == (400, "invalid_query")


def test_a_list_costs_the_same_few_queries_whatever_its_length(
    lab: LabClient, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(8):
        tag_of(order_at(lab.lab, f"ZZ9000{number}"))
    lab.get(f"{BASE}cylinders")
    with django_assert_max_num_queries(5):
        assert len(lab.get(f"{BASE}cylinders").json["items"]) == 9


def test_a_lab_sees_marks_and_tags_and_no_owner(lab: LabClient) -> None:
    order = order_at(lab.lab, "ZZ90000")
    code = tag_of(order).code
    raw = lab.get(f"{BASE}cylinders").raw.decode()
    item = json.loads(raw)["items"][1]
    assert (item["tag"], item["serial"], item["neck_thread"]) == (code, "ZZ90000", "3/4-14 NPSM")
    assert item["service_pressure"] == {"value": "3000", "unit": "psi"}
    for person in Customer.objects.all():
        for told in (person.name, person.email, person.phone):
            assert told not in raw


def test_a_cylinder_leaves_the_list_when_it_goes_home(lab: LabClient) -> None:
    order = order_at(lab.lab, "ZZ90000")
    lab.post(body("ZZ90000"))
    items = lab.get(f"{BASE}cylinders").json["items"]
    assert [item["records"] for item in items] == [[], ["NG-2026-0417"]]
    consignment.take_back(work_order_id=order.pk, at=makers.NOON, by=BY)
    assert [one["serial"] for one in lab.get(f"{BASE}cylinders").json["items"]] == ["KX40417"]
    first, second = lab.get(f"{BASE}consignments").json["items"]
    assert (first["cylinders"], first["in_hand"], first["closed_at"]) == (1, 1, None)
    assert (second["cylinders"], second["in_hand"]) == (1, 0)
    assert second["closed_at"]


def test_what_is_only_packed_is_not_told(lab: LabClient) -> None:
    order = makers.receive(serial="ZZ90000")
    makers.take_down(order)
    consignment.pack(work_order_id=order.pk, lab_id=lab.lab.pk, at=makers.NOON, by=BY)
    assert len(lab.get(f"{BASE}cylinders").json["items"]) == 1
    assert len(lab.get(f"{BASE}consignments").json["items"]) == 1
    assert lab.post(body("ZZ90000")).status == 404


def test_each_key_is_throttled_by_itself(lab: LabClient, settings: Settings) -> None:
    settings.LAB_REQUESTS_PER_MINUTE = 3
    other = make_lab_client("Z998")
    with time_machine.travel(makers.NOON, tick=False) as clock:
        statuses = [lab.get(f"{BASE}cylinders").status for _ in range(4)]
        assert statuses == [200, 200, 200, 429]
        late = lab.post(body())
        assert (late.status, late.code) == (429, "throttled")
        assert 1 <= int(late.headers["Retry-After"]) <= 60
        assert other.get(f"{BASE}cylinders").status == 200
        clock.shift(dt.timedelta(seconds=int(late.headers["Retry-After"])))
        assert lab.post(body()).status == 201


def test_a_busy_database_asks_to_come_again(
    lab: LabClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def busy(**_more: object) -> None:
        raise OperationalError("database is locked")

    monkeypatch.setattr(posted_records, "receive", busy)
    answer = lab.post(body())
    assert (answer.status, answer.code) == (503, "busy")
    assert int(answer.headers["Retry-After"]) >= 1


def test_a_fault_of_ours_is_told_without_its_inside(
    lab: LabClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(**_more: object) -> None:
        raise KeyError("canary-5132")

    monkeypatch.setattr(posted_records, "receive", broken)
    answer = lab.post(body())
    assert (answer.status, answer.code) == (500, "internal")
    assert b"canary" not in answer.raw
    assert "canary-5132" in caplog.text


def test_a_wrong_key_is_never_written_to_the_log(
    lab: LabClient, caplog: pytest.LogCaptureFixture
) -> None:
    secret = lab.key.partition(".")[2]
    lab.get(RECORDS, authorization=f"Bearer {lab.key}x")
    lab.post(body())
    assert secret not in caplog.text


@pytest.mark.parametrize("code", PROBLEMS)
def test_every_problem_is_a_whole_document(code: str) -> None:
    row = PROBLEMS[code]
    made = document(Problem(code, "What was wrong."), request_id="abc")
    assert set(made) == {"type", "title", "status", "detail", "instance", "code"}
    assert 400 <= row.status <= 599
    assert row.means.endswith(".")
    assert row.do.endswith(".")
