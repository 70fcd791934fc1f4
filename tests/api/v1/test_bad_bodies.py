"""Whatever a lab's program sends by mistake or by malice: a 4xx that says what, nothing stored.

Each row is one bad input and the code of the problem that it gets; a row with ``held`` or
``invalid`` is taken as a record, because only a person or a new test can tell.
"""

import copy
import gzip
import json
from typing import Any

import pytest

from cylinders.models import TestRecord
from tests.api.v1.lab import RECORDS, LabClient, body

pytestmark = pytest.mark.django_db

GOOD = json.dumps(body()).encode()


def with_text(old: str, new: str) -> bytes:
    """The good body with one piece of its text replaced."""
    assert old.encode() in GOOD
    return GOOD.replace(old.encode(), new.encode(), 1)


NO_JSON: dict[str, bytes] = {
    "empty": b"",
    "blanks": b" \n\t",
    "cut short": GOOD[:-40],
    "two values": GOOD + GOOD,
    "comma at the end": GOOD[:-1] + b",}",
    "comment": b"/* lab */" + GOOD,
    "single quotes": b"{'lab_reference': 'A'}",
    "byte order mark": b"\xef\xbb\xbf" + GOOD,
    "UTF-16": GOOD.decode().encode("utf-16"),
    "Latin-1": with_text("op 4", "op \N{LATIN SMALL LETTER E WITH ACUTE}")
    .decode()
    .encode("latin-1"),
    "a byte that no UTF-8 has": GOOD.replace(b"op 4", b"op \xff"),
    "overlong UTF-8": GOOD.replace(b"op 4", b"op \xc0\xaf"),
    "half of a surrogate pair": with_text('"op 4"', '"\\ud800"'),
    "a name twice": with_text('"hold_seconds": 32', '"hold_seconds": 1, "hold_seconds": 32'),
    "a name twice, deeper": with_text('"unit": "psi"', '"unit": "bar", "unit": "psi"'),
    "NaN": with_text('"hold_seconds": 32', '"hold_seconds": NaN'),
    "Infinity": with_text('"hold_seconds": 32', '"hold_seconds": Infinity'),
    "minus Infinity": with_text('"hold_seconds": 32', '"hold_seconds": -Infinity'),
    "1e400": with_text('"hold_seconds": 32', '"hold_seconds": 1e400'),
    "1e-400": with_text('"hold_seconds": 32', '"hold_seconds": 1e-400'),
    "5,000 digits": with_text('"hold_seconds": 32', '"hold_seconds": ' + "9" * 5_000),
    "leading zero": with_text('"hold_seconds": 32', '"hold_seconds": 032'),
    "hexadecimal": with_text('"hold_seconds": 32', '"hold_seconds": 0x20'),
    "plus sign": with_text('"hold_seconds": 32', '"hold_seconds": +32'),
    "nested 10,000 deep": b"[" * 10_000 + b"]" * 10_000,
    "nested nine deep": with_text('"reason": ""', '"reason": ' + "[" * 9 + "]" * 9),
    "a raw line break in a text": with_text('"op 4"', '"op\n4"'),
    "a raw NUL in a text": with_text('"op 4"', '"op\x004"'),
}


@pytest.mark.parametrize("raw", NO_JSON.values(), ids=NO_JSON)
@pytest.mark.sampled(of=4)
def test_text_that_is_no_trustworthy_json_is_refused(lab: LabClient, raw: bytes) -> None:
    answer = lab.post(raw)
    assert (answer.status, answer.code) == (400, "malformed_json")
    assert not TestRecord.objects.exists()


def changed(path: str, value: Any) -> dict[str, Any]:
    """The good body with the value at a JSON Pointer replaced."""
    made: dict[str, Any] = copy.deepcopy(body())
    *way, last = path.strip("/").split("/")
    place: Any = made
    for name in way:
        place = place[name]
    where: Any = int(last) if isinstance(place, list) else last
    place[where] = value
    return made


def psi(value: Any) -> dict[str, Any]:
    return {"value": value, "unit": "psi"}


WRONG_SHAPES: list[tuple[str, Any]] = [
    ("/lab_reference", None),
    ("/lab_reference", ""),
    ("/lab_reference", 417),
    ("/lab_reference", "../../etc/passwd"),
    ("/lab_reference", "a/b"),
    ("/lab_reference", "a b"),
    ("/lab_reference", "A" * 81),
    ("/lab_reference", "A\u202eB"),
    ("/lab_reference", "A%00"),
    ("/cylinder", None),
    ("/cylinder", "KX40417"),
    ("/cylinder", []),
    ("/cylinder/serial", ""),
    ("/cylinder/serial", " KX40417"),
    ("/cylinder/serial", "KX\u200b40417"),
    ("/cylinder/serial", "K" * 81),
    ("/cylinder/owner", "somebody"),
    ("/date", None),
    ("/date", ""),
    ("/date", "2026-11-31"),
    ("/date", "2027-02-29"),
    ("/date", "20-11-2026"),
    ("/date", "2026-11-20T10:00:00Z"),
    ("/date", "0001-01-01"),
    ("/date", "9999-12-31"),
    ("/date", "2026-W47-5"),
    ("/date", 20261120),
    ("/date", "\u0662\u0660\u0662\u0666-11-20"),
    ("/method", "Water_Jacket"),
    ("/method", "water jacket"),
    ("/test_pressure", None),
    ("/test_pressure", "5000 psi"),
    ("/test_pressure", 5000),
    ("/test_pressure", psi(value=True)),
    ("/test_pressure", psi(None)),
    ("/test_pressure", psi("5 000")),
    ("/test_pressure", psi("5,000")),
    ("/test_pressure", psi("5e3")),
    ("/test_pressure", psi("5_000")),
    ("/test_pressure", psi("\uff15\uff10\uff10\uff10")),
    ("/test_pressure", psi("NaN")),
    ("/test_pressure", {"value": "5000", "unit": "PSI"}),
    ("/test_pressure", {"value": "5000", "unit": "cc"}),
    ("/test_pressure", {"value": "5000"}),
    ("/test_pressure", {"value": "5000", "unit": "psi", "gauge": 1}),
    ("/hold_seconds", "half a minute"),
    ("/hold_seconds", True),
    ("/total_expansion", None),
    ("/disposition", "PASS"),
    ("/disposition", "passed "),
    ("/disposition", "1"),
    ("/visual/internal", "ok"),
    ("/stamp/month", 13),
    ("/stamp/month", 11.5),
    ("/stamp/year", 26),
    ("/limit_percent", 0),
    ("/limit_percent", 101),
    ("/calibration/points", []),
    ("/calibration/points/0", None),
    ("/calibration/points/1", {}),
    ("/calibration/date", "yesterday"),
    ("/use", "diving"),
    ("/operator", None),
    ("/owner", "somebody"),
    ("/status", "attached"),
    ("/id", 1),
    ("/__proto__", {"admin": True}),
    ("/callback", "http://169.254.169.254/"),
    ("/visual/notes", "n" * 2_001),
    ("/heat_exposure_c", "hot"),
]


@pytest.mark.parametrize(("pointer", "value"), WRONG_SHAPES)
@pytest.mark.sampled(of=5)
def test_a_wrong_shape_is_refused_with_its_place(
    lab: LabClient, pointer: str, value: object
) -> None:
    answer = lab.post(changed(pointer, value))
    assert (answer.status, answer.code) == (400, "invalid_body")
    assert any(one["pointer"].startswith(pointer) for one in answer.json["errors"]), answer.raw
    assert not TestRecord.objects.exists()


@pytest.mark.parametrize("value", [None, [], "x", 1, 1.5, True, {}, [{}]])
def test_json_of_another_kind_is_refused(lab: LabClient, value: object) -> None:
    answer = lab.post(json.dumps(value).encode())
    assert (answer.status, answer.code) == (400, "invalid_body")


def test_every_wrong_place_is_named_at_once(lab: LabClient) -> None:
    wrong = changed("/hold_seconds", "long") | {"use": "diving", "owner": "somebody"}
    places = {one["pointer"] for one in lab.post(wrong).json["errors"]}
    assert places == {"/hold_seconds", "/use", "/owner"}


#: what is well formed but says something that no person should trust: the verdict, never "passed"
NEVER_PASSED: list[tuple[str, Any, set[str]]] = [
    ("/permanent_expansion", {"value": "80.0", "unit": "cc"}, {"invalid", "held", "condemned"}),
    ("/permanent_expansion", {"value": "-0.9", "unit": "cc"}, {"invalid", "held"}),
    ("/total_expansion", {"value": "0", "unit": "cc"}, {"invalid", "held", "condemned"}),
    ("/total_expansion", {"value": "-70.0", "unit": "cc"}, {"invalid", "held", "condemned"}),
    ("/permanent_expansion", {"value": "7.1", "unit": "cc"}, {"invalid", "condemned"}),
    ("/test_pressure", psi("4900"), {"invalid"}),
    ("/test_pressure", {"value": "3000", "unit": "bar"}, {"invalid", "held"}),
    ("/test_pressure", psi("50000"), {"invalid", "held"}),
    ("/test_pressure", psi("-5000"), {"invalid", "held"}),
    ("/hold_seconds", 29, {"invalid"}),
    ("/hold_seconds", -1, {"invalid"}),
    ("/visual/internal", "fail", {"condemned", "rejected"}),
    ("/calibration/date", "2026-11-19", {"invalid", "held"}),
    ("/stamp/year", 2027, {"held"}),
    ("/cylinder/serial", "kx40417", {"passed", "held"}),
]


@pytest.mark.parametrize(("pointer", "value", "verdicts"), NEVER_PASSED)
@pytest.mark.sampled(of=4)
def test_what_cannot_be_true_never_passes(
    lab: LabClient, pointer: str, value: object, verdicts: set[str]
) -> None:
    answer = lab.post(changed(pointer, value))
    assert answer.status == 201, answer.raw
    assert answer.json["verdict"] in verdicts, answer.json["reasons"]


@pytest.mark.parametrize("day", ["2026-11-27", "2026-12-20", "2899-12-31"])
def test_a_test_of_a_day_to_come_is_refused(lab: LabClient, day: str) -> None:
    answer = lab.post(changed("/date", day))
    assert (answer.status, answer.code) == (409, "tested_in_future")


def test_a_lab_whose_day_has_begun_earlier_does_not_pass_unseen(lab: LabClient) -> None:
    answer = lab.post(changed("/date", "2026-11-26"))
    assert (answer.status, answer.json["verdict"] in {"invalid", "held"}) == (201, True)


def test_hostile_text_is_kept_as_text(lab: LabClient) -> None:
    notes = "<script>alert(1)</script> {{7*7}} =cmd|' /C calc'!A0 ' OR 1=1-- %00"
    sent = changed("/visual/notes", notes)
    where = lab.post(sent).headers["Location"]
    answer = lab.get(where)
    assert answer.headers["Content-Type"] == "application/json"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.json["body"]["visual"]["notes"] == notes


@pytest.mark.parametrize(
    "content_type",
    [
        "",
        "text/plain",
        "text/json",
        "application/xml",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "application/jsonp",
        "application/json; charset=latin-1",
        "application/json; charset=utf-16",
    ],
)
def test_another_type_of_body_is_not_looked_at(lab: LabClient, content_type: str) -> None:
    answer = lab.send("POST", RECORDS, GOOD, content_type, idempotency_key="k")
    assert (answer.status, answer.code) == (415, "unsupported_media_type")


@pytest.mark.parametrize(
    "content_type", ["application/json; charset=UTF-8", 'Application/JSON;charset="utf-8"']
)
def test_the_right_type_may_be_written_in_full(lab: LabClient, content_type: str) -> None:
    assert lab.send("POST", RECORDS, GOOD, content_type, idempotency_key="k").status == 201


def test_a_compressed_body_is_not_unpacked(lab: LabClient) -> None:
    bomb = gzip.compress(b" " * 10_000_000)
    answer = lab.send("POST", RECORDS, bomb, content_encoding="gzip", idempotency_key="k")
    assert (answer.status, answer.code) == (415, "unsupported_media_type")


@pytest.mark.parametrize("size", [64 * 1024 + 1, 10_000_000])
def test_a_body_beyond_any_record_is_not_read(lab: LabClient, size: int) -> None:
    answer = lab.post(GOOD + b" " * (size - len(GOOD)))
    assert (answer.status, answer.code) == (413, "body_too_large")


def test_a_body_of_the_largest_size_is_read(lab: LabClient) -> None:
    assert lab.post(GOOD + b" " * (64 * 1024 - len(GOOD))).status == 201


def test_numbers_keep_the_digits_that_were_sent(lab: LabClient) -> None:
    raw = with_text('"value": "70.0"', '"value": 70.00').replace(b'"0.9"', b"0.9000000001")
    answer = lab.post(raw)
    assert answer.status == 201, answer.raw
    kept = lab.get(answer.headers["Location"]).raw
    assert b'"value":70.00' in kept
    assert b'"value":0.9000000001' in kept
