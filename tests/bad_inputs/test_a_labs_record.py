"""A lab's record as programs and hands spoil it: each kind by its number, and what it got.

A row is what is changed in a good record (JSON Pointer and value, or the whole body), and the
answer: a status with its code, for a wrong body its place too, or 201 with one of the verdicts
that it may have. ``pytest -s`` prints what each got. More of each kind stands in
``tests/api/v1/test_bad_bodies.py``.
"""

import gzip
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.db import transaction

from cylinders.models import TestRecord
from cylinders.operations import consignment
from cylinders.queries.verification import verify
from labels.operations import binding
from tests import makers
from tests.api.v1.lab import BY, RECORDS, LabClient, body, make_lab_client, order_at, tag_of
from tests.api.v1.test_bad_bodies import GOOD, NO_JSON, changed, psi, with_text
from tests.bad_inputs.elsewhere import missing

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

KINDS = set(range(1, 43))
#: neither counts for the cylinder nor passes
DOUBT = "held invalid"
ELSEWHERE = {
    13: "tests/faults/test_strange_requests.py",
    15: "tests/api/v1/test_idempotency.py::"
    "test_a_hundred_bodies_that_differ_in_one_place_are_refused",
    16: "tests/api/v1/test_idempotency.py::"
    "test_a_post_whose_first_is_not_done_in_time_is_told_to_wait",
    17: "tests/api/v1/test_idempotency.py::"
    "test_keys_of_two_labs_have_nothing_to_do_with_each_other",
    32: "tests/cylinders/operations/test_amendment.py",
    39: "tests/api/v1/test_attachments.py",
    40: "tests/api/v1/test_batches.py",
    41: "tests/api/webhooks/test_addresses.py",
    42: "tests/faults/test_killed_before_the_reply.py",
}
NOT_JSON = {
    1: ("empty", "blanks"),
    3: ("cut short", "two values"),
    4: ("comma at the end", "comment", "single quotes"),
    5: ("byte order mark", "UTF-16", "Latin-1"),
    6: ("a byte that no UTF-8 has", "overlong UTF-8", "half of a surrogate pair"),
    7: ("a name twice", "a name twice, deeper"),
    8: ("NaN", "Infinity", "minus Infinity", "1e400", "1e-400"),
    9: ("5,000 digits",),
    10: ("nested 10,000 deep", "nested nine deep"),
}
Row = tuple[int, bytes | object, str]


def cc(value: Any) -> dict[str, Any]:
    return {"value": value, "unit": "cc"}


def bodies(house: dict[str, str]) -> Iterator[Row]:
    """Number of the kind, body, and what it gets; ``house`` has codes of tags and serials."""
    for number, names in NOT_JSON.items():
        yield from ((number, NO_JSON[name], "400 malformed_json") for name in names)
    yield from ((2, text.encode(), "400 invalid_body#") for text in ("null", "[]", '"x"', "1"))
    yield 11, GOOD + b" " * 10_000_000, "413 body_too_large"
    yield 18, changed("/cylinder/tag", "7K2M9QX4WBTCK"), "404 cylinder_not_found"
    yield 19, changed("/cylinder/tag", house["torn"]), "409 tag_retired"
    other = changed("/cylinder/serial", "KX40418")
    other["cylinder"]["tag"] = house["live"]
    yield 20, other, "201 held"
    yield 21, changed("/cylinder/serial", house["elsewhere"]), "404 cylinder_not_found"
    yield 22, changed("/cylinder/serial", house["condemned"]), "201 held condemned"
    yield 23, changed("/permanent_expansion", cc("7.1")), "201 condemned invalid"
    yield 24, changed("/permanent_expansion", cc("80.0")), f"201 {DOUBT}"
    yield from ((25, changed("/total_expansion", cc(x)), f"201 {DOUBT}") for x in ("0", "-70.0"))
    yield 25, changed("/permanent_expansion", cc("-0.9")), f"201 {DOUBT}"
    yield from ((26, changed("/test_pressure", psi(x)), f"201 {DOUBT}") for x in ("4900", "50000"))
    yield 27, changed("/test_pressure", {"value": "5000", "unit": "bar"}), f"201 {DOUBT}"
    yield 28, changed("/permanent_expansion", cc("0.9")), "201 passed"  # a decimal in quotes
    yield 28, changed("/hold_seconds", value=True), "400 invalid_body#/hold_seconds"
    yield 28, changed("/hold_seconds", "32 s"), "400 invalid_body#/hold_seconds"
    yield 29, with_text('"value": "0.9"', '"value": 0.9000000001'), "201 passed"
    yield 29, with_text('"value": "0.9"', '"value": -0.0'), "201 invalid"  # elastic says otherwise
    for day in ("2026-11-20T10:00", "2026-11-20T24:00", "0001-01-01", "9999-12-31", "2027-02-29"):
        yield 30, changed("/date", day), "400 invalid_body#/date"
    yield 30, changed("/date", "2026-12-24"), "409 tested_in_future"
    yield 30, changed("/date", "1986-11-20"), f"201 {DOUBT}"
    yield 31, changed("/cylinder/serial", house["packed"]), "404 cylinder_not_found"
    for word in ("PASS ", "pass", "ok", "1", 1):
        yield 34, changed("/disposition", word), "400 invalid_body#/disposition"
    yield 35, changed("/cylinder/alloy", "steel"), "201 held"
    yield 36, changed("/operator", "nobody we know"), "201 passed"  # the lab answers for its people
    yield 36, changed("/rin", "Z111"), f"201 {DOUBT}"
    yield 36, changed("/cylinder/permit", "DOT-SP 99999"), f"201 {DOUBT}"
    for name in ("owner", "status", "id", "__proto__", "constructor"):
        yield 37, changed(f"/{name}", "x"), f"400 invalid_body#/{name}"
    yield 38, changed("/visual/notes", "<script>1</script> =1+1"), "201 passed"
    yield 38, changed("/visual/notes", "n" * 2_001), "400 invalid_body#/visual/notes"
    yield 38, changed("/visual/notes", "n" * 100_000), "413 body_too_large"


@pytest.fixture
def lab() -> Iterator[LabClient]:
    """A lab with one cylinder in its hands."""
    cache.clear()
    with time_machine.travel(makers.NOON, tick=True):
        makers.technician_one()
        yield make_lab_client()


@pytest.fixture
def house(lab: LabClient) -> dict[str, str]:
    """A live tag and a torn one of its cylinder, one that is not there, and a condemned one."""
    order = order_at(lab.lab)
    torn = tag_of(order).code
    live = binding.replace(code=torn, host="CYL.EXAMPLE", reason="torn", at=makers.NOON, by=BY)
    makers.receive(serial="ZZ90000")
    order_at(lab.lab, "ZZ90001")
    failing = {"permanent_expansion": cc("7.1"), "elastic_expansion": cc("62.9")}
    failed = body("ZZ90001", "X-1", disposition="condemned", reason="expansion", **failing)
    assert lab.post(failed).json["verdict"] == "condemned"
    packed = makers.receive(serial="ZZ90002")
    makers.take_down(packed)
    consignment.pack(work_order_id=packed.pk, lab_id=lab.lab.pk, at=makers.NOON, by=BY)
    return {
        "torn": torn,
        "live": live.code,
        "elsewhere": "ZZ90000",
        "condemned": "ZZ90001",
        "packed": "ZZ90002",
    }


def got(lab: LabClient, sent: object) -> str:
    """The status, and the verdict or the code, a wrong body's with the one place that is wrong.

    Nothing of it is kept.
    """
    with transaction.atomic():
        answer = lab.post(sent)
        word = answer.json["verdict"] if answer.status == 201 else answer.code
        if word == "invalid_body":
            word += "#" + " ".join(one["pointer"] for one in answer.json["errors"])
        transaction.set_rollback(True)
    return f"{answer.status} {word}"


def test_every_kind_of_spoilt_record_gets_what_it_should(
    lab: LabClient, house: dict[str, str]
) -> None:
    tried: list[str] = []
    wrong: list[str] = []
    for number, sent, wanted in bodies(house):
        cache.clear()
        came = got(lab, sent)
        tried.append(f"{number}: {came}")
        status, *words = wanted.split()
        if came not in {f"{status} {word}" for word in words}:
            wrong.append(f"{number} {str(sent)[:200]}: {came}, not {wanted}")
    print(f"{len(tried)} records tried: {'; '.join(tried)}")  # noqa: T201 - the report
    assert wrong == []
    assert TestRecord.objects.count() == 1  # the one that condemned ZZ90001
    assert verify().problems == ()


HEADERS: list[tuple[int, dict[str, str], str]] = [
    (11, {"content_encoding": "gzip"}, "415 unsupported_media_type"),
    (12, {"content_type": "text/plain"}, "415 unsupported_media_type"),
    (12, {"content_type": "application/x-www-form-urlencoded"}, "415 unsupported_media_type"),
    (12, {"content_type": ""}, "415 unsupported_media_type"),
    (14, {"idempotency_key": ""}, "400 idempotency_key_missing"),
    (14, {"idempotency_key": '""'}, "400 idempotency_key_malformed"),
    (14, {"idempotency_key": "k" * 300}, "400 idempotency_key_malformed"),
    (14, {"idempotency_key": "a, b"}, "400 idempotency_key_malformed"),
    (33, {"idempotency_key": "second"}, "409 reference_used"),
]


def test_every_kind_of_spoilt_request_gets_what_it_should(
    lab: LabClient, house: dict[str, str]
) -> None:
    assert lab.post(changed("/cylinder/tag", house["live"]), key="first").status == 201
    for number, headers, wanted in HEADERS:
        given = {"idempotency_key": "k"} | headers
        kind = given.pop("content_type", "application/json")
        raw = gzip.compress(GOOD) if "content_encoding" in given else GOOD
        raw = raw if number != 33 else with_text('"hold_seconds": 32', '"hold_seconds": 33')
        answer = lab.send("POST", RECORDS, raw, kind, **given)
        assert f"{answer.status} {answer.code}" == wanted, (number, headers)
    assert TestRecord.objects.count() == 2  # with the one that condemned ZZ90001


def test_every_kind_is_tried_or_told_where_it_is(lab: LabClient, house: dict[str, str]) -> None:
    tried = {number for number, _, _ in (*bodies(house), *HEADERS)}
    assert tried | ELSEWHERE.keys() == KINDS
    assert missing(ELSEWHERE.values()) == []
