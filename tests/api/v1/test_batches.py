"""A file of many records: one verdict a line, none lost, none twice, whatever breaks."""

import copy
import json
from collections.abc import Iterable
from typing import Any

import pytest
from django.db import connection

from api.batches import running, waiting
from api.models import FileMapping, ResultBatch
from api.tasks import go_on_with_batches
from cylinders.models import Cylinder, TestRecord
from cylinders.queries.verification import verify
from cylinders.rules import judgement
from cylinders.rules.judgement import Judgement, TestBody, remembered
from cylinders.rules.refusal import Refused
from tests import makers
from tests.api.v1.lab import Answer, LabClient, body, make_lab_client, send_to

pytestmark = pytest.mark.django_db(transaction=True)

BATCHES, MAPPINGS = "/api/v1/result-batches", "/api/v1/file-mappings"
NDJSON = "application/x-ndjson"


def cylinders_at(lab: LabClient, serials: Iterable[str]) -> None:
    owner = makers.make_customer("Many Tanks")
    orders = [makers.receive(owner, serial=serial) for serial in serials]
    for order in orders:
        makers.take_down(order)
    send_to(lab.lab, *orders)


@pytest.fixture
def lab() -> LabClient:
    """A lab with ten cylinders, ZZ0 to ZZ9, in its hands."""
    makers.technician_one()
    client = make_lab_client()
    cylinders_at(client, (f"ZZ{number}" for number in range(10)))
    return client


def lines(count: int, **changes: Any) -> list[str]:
    return [json.dumps(body(f"ZZ{n}", f"B-{n}", **changes)) for n in range(count)]


def post(lab: LabClient, content: str | bytes, query: str = "", kind: str = NDJSON) -> Answer:
    raw = content.encode() if isinstance(content, str) else content
    return lab.send("POST", f"{BATCHES}{query}", raw, kind)


def verdicts(lab: LabClient, batch: Answer) -> dict[int, dict[str, Any]]:
    items = lab.get(batch.json["lines"] + "?limit=200").json["items"]
    return {item["line"]: item for item in items}


def test_a_file_is_taken_and_each_line_gets_its_verdict(lab: LabClient) -> None:
    sent = lines(4)
    sent[1] = json.dumps(body("NEVERSEEN", "B-1"))
    sent.insert(2, "")
    sent += ["{", json.dumps(body("ZZ0", "B-0")), json.dumps({"lab_reference": "x"})]
    taken = post(lab, "\r\n".join(sent))
    assert taken.status == 202
    read = lab.get(taken.headers["Location"]).json
    assert (read["state"], read["total"], read["done"]) == ("finished", 7, 7)
    assert read["counts"] == {
        "stored": 3,
        "held": 0,
        "already_held": 1,
        "waiting": 1,
        "refused": 2,
        "kept_back": 0,
    }
    told = verdicts(lab, taken)
    assert {line: item["outcome"] for line, item in told.items()} == {
        1: "stored",
        2: "waiting",
        4: "stored",
        5: "stored",
        6: "refused",
        7: "already_held",
        8: "refused",
    }
    assert told[2]["code"] == "cylinder_not_found"
    assert "no JSON" in told[6]["says"]
    assert "/hold_seconds" in {error["pointer"] for error in told[8]["errors"]}
    assert verify().ok


@pytest.mark.both_engines
def test_a_fault_of_ours_stops_its_own_line_and_no_other(
    lab: LabClient, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    judge = judgement.judge

    def falls_over(body: TestBody, **beside: Any) -> Judgement:
        if body.lab_reference == "B-2":
            raise ZeroDivisionError("a rule that nobody tried with this")
        return judge(body, **beside)

    monkeypatch.setattr(remembered, "judge", falls_over)
    told = verdicts(lab, post(lab, "\n".join(lines(5))))
    assert [told[n]["outcome"] for n in range(1, 6)] == [
        *("stored", "stored", "refused", "stored", "stored"),
    ]
    assert told[3]["code"] == "internal"
    assert "ZeroDivision" not in json.dumps(told)
    assert "ZeroDivision" in caplog.text
    assert TestRecord.objects.count() == 4
    assert verify().ok


def test_a_dry_run_tells_what_would_come_of_each_line_and_stores_nothing(lab: LabClient) -> None:
    sent = lines(2)
    sent.append(json.dumps(body("ZZ2", "B-2", hold_seconds=20)))
    sent += [sent[0], json.dumps(body("NEVERSEEN", "B-9")), "{}"]
    heads = list(Cylinder.objects.order_by("pk").values_list("events_held", "head"))
    taken = post(lab, "\n".join(sent), "?dry_run=true")
    told = verdicts(lab, taken)
    assert [told[n]["verdict"] for n in (1, 2, 3)] == ["passed", "passed", "invalid"]
    outcomes = ["stored", "stored", "stored", "already_held", "waiting", "refused"]
    assert [told[n]["outcome"] for n in range(1, 7)] == outcomes
    assert not TestRecord.objects.exists()
    assert list(Cylinder.objects.order_by("pk").values_list("events_held", "head")) == heads
    for_real = post(lab, "\n".join(sent))
    assert for_real.status == 202
    assert verdicts(lab, for_real) == told
    assert TestRecord.objects.count() == 3


def test_all_or_nothing_stores_nothing_beside_one_bad_line(lab: LabClient) -> None:
    sent = [*lines(2), json.dumps(body("NEVERSEEN", "B-9")), "{}"]
    taken = post(lab, "\n".join(sent), "?mode=all_or_nothing")
    told = verdicts(lab, taken)
    outcomes = ["kept_back", "kept_back", "refused", "refused"]
    assert [told[n]["outcome"] for n in range(1, 5)] == outcomes
    assert told[1]["says"] == "Not stored, because of line 3."
    assert not TestRecord.objects.exists()
    assert verify().ok


def test_all_or_nothing_stores_all_where_every_line_is_good(lab: LabClient) -> None:
    held = json.dumps(body("ZZ2", "B-2", rin="Z998"))  # it waits in the queue of held records
    taken = post(lab, "\n".join([*lines(2), held]), "?mode=all_or_nothing")
    assert [one["outcome"] for one in verdicts(lab, taken).values()] == ["stored", "stored", "held"]
    assert lab.get(taken.headers["Location"]).json["mode"] == "all_or_nothing"
    assert TestRecord.objects.count() == 3


def test_a_file_that_stored_nothing_is_done_anew_when_it_comes_again(lab: LabClient) -> None:
    content = "\n".join([*lines(1), json.dumps(body("LATE", "B-9"))])
    first = post(lab, content, "?mode=all_or_nothing")
    assert not TestRecord.objects.exists()
    cylinders_at(lab, ["LATE"])  # it was on its way
    again = post(lab, content, "?mode=all_or_nothing")
    assert (again.status, again.headers["Location"]) == (202, first.headers["Location"])
    assert [one["outcome"] for one in verdicts(lab, again).values()] == ["stored", "stored"]
    assert TestRecord.objects.count() == 2


def test_the_same_content_is_the_same_batch(lab: LabClient) -> None:
    first, again = (post(lab, "\n".join(lines(3))) for _ in range(2))
    assert (first.status, again.status) == (202, 200)
    assert first.headers["Location"] == again.headers["Location"]
    assert TestRecord.objects.count() == 3


@pytest.mark.both_engines
def test_two_workers_at_one_batch_do_each_line_once(lab: LabClient) -> None:
    batch = taken(lab, "\n".join(lines(3)))
    for _ in range(2):
        running._next_lines(batch.pk, at=makers.NOON)
    assert batch.lines.count() == TestRecord.objects.count() == 3


def taken(lab: LabClient, content: str) -> ResultBatch:
    batch, _new = running.take(lab_id=lab.lab.pk, content=content, dry_run=False, at=makers.NOON)
    return batch


def test_a_line_that_waits_is_decided_by_a_person(lab: LabClient) -> None:
    batch = taken(lab, "\n".join(json.dumps(body("WORN", f"B-{n}")) for n in range(3)))
    go_on_with_batches()
    first, second, third = waiting.lines()
    zz1 = Cylinder.objects.get(serial="ZZ1")
    by = makers.technician_one()
    assert zz1 in waiting.candidates(first)
    how: dict[str, Any] = {"reason": "tag on the neck", "at": makers.NOON, "by": by}
    decided = waiting.decide(line_id=first.pk, cylinder_id=zz1.pk, **how)
    # the serial that the lab sent is not the one on the metal: that is for the queue of held ones
    assert (decided.outcome, decided.decided_by, decided.verdict) == ("held", by, "held")
    record = TestRecord.objects.get()
    assert record.cylinder == zz1
    out = waiting.decide(line_id=second.pk, cylinder_id=None, **how)
    assert (out.outcome, out.code) == ("refused", "taken_out")
    with pytest.raises(Refused, match="decided already"):
        waiting.decide(line_id=first.pk, cylinder_id=zz1.pk, **how)
    with pytest.raises(Refused, match="what you compared"):
        waiting.decide(line_id=third.pk, cylinder_id=zz1.pk, **how | {"reason": " "})
    with pytest.raises(Refused, match="not at the lab"):
        waiting.decide(
            line_id=third.pk, cylinder_id=makers.receive(serial="HOME").cylinder_id, **how
        )
    assert batch.lines.filter(outcome="waiting").count() == 1
    assert verify().ok


def test_a_long_batch_pauses_at_its_time(lab: LabClient) -> None:
    batch, _new = running.take(
        lab_id=lab.lab.pk, content="\n".join(lines(3)), dry_run=False, at=makers.NOON
    )
    assert not running.go_on(batch_id=batch.pk, now=lambda: makers.NOON, until=makers.NOON)
    assert running.unfinished() == [batch.pk]
    later = makers.NOON.replace(hour=13)
    assert running.go_on(batch_id=batch.pk, now=lambda: makers.NOON, until=later)
    assert running.unfinished() == []


MAPPING: dict[str, Any] = {
    "delimiter": ";",
    "encoding": "windows-1252",
    "decimal": ",",
    "date_order": "DMY",
    "columns": [
        {"column": "Lfd", "field": "/lab_reference"},
        {"column": "Ser. Nr.", "field": "/cylinder/serial"},
        {"column": "Hersteller", "field": "/cylinder/manufacturer_mark"},
        {"column": "Datum", "field": "/date"},
        {"column": "Druck", "field": "/test_pressure", "unit": "bar"},
        {"column": "Zeit", "field": "/hold_seconds"},
        {"column": "TE", "field": "/total_expansion", "unit": "cc"},
        {"column": "PE", "field": "/permanent_expansion", "unit": "cc"},
        {"column": "Pr\u00fcfer", "field": "/operator"},
    ],
    "constants": [
        {"field": "/cylinder/authority", "value": "DOT"},
        {"field": "/cylinder/specification", "value": "3AL"},
        {"field": "/cylinder/service_pressure", "value": "3000", "unit": "psi"},
        {"field": "/method", "value": "water_jacket"},
        {"field": "/visual/internal", "value": "pass"},
        {"field": "/visual/external", "value": "pass"},
        {"field": "/use", "value": "scuba"},
        {"field": "/disposition", "value": "passed"},
        {"field": "/rin", "value": "Z999"},
        {"field": "/calibration/cylinder_serial", "value": "CAL-3"},
        {"field": "/calibration/date", "value": "2026-11-20"},
        {"field": "/calibration/points/0/pressure", "value": "300", "unit": "bar"},
        {"field": "/calibration/points/0/expansion", "value": "55.0", "unit": "cc"},
        {"field": "/calibration/points/1/pressure", "value": "350", "unit": "bar"},
        {"field": "/calibration/points/1/expansion", "value": "64.4", "unit": "cc"},
        {"field": "/calibration/observed/pressure", "value": "350", "unit": "bar"},
        {"field": "/calibration/observed/expansion", "value": "64.3", "unit": "cc"},
        {"field": "/calibration/observed/permanent", "value": "0.0", "unit": "cc"},
        {"field": "/stamp/month", "value": "11"},
        {"field": "/stamp/year", "value": "2026"},
    ],
}
CSV = """\
Lfd;Datum;Ser. Nr.;Hersteller;Druck;Zeit;TE;PE;Pr\u00fcfer
A-1;20.11.2026;ZZ0;M9999;345;32;70,0;0,9;M\u00fcller
;;;;;;;;
A-2;20/11/2026;ZZ1;M9999;345;32;70,0;0.9;M\u00fcller
A-3;11-20-2026;ZZ2;M9999;345;32;70,0;0,9;M\u00fcller
A-4;20.11.2026;ZZ3;M9999;345;32;1.070,0;0,9;M\u00fcller
A-5;20.11.2026;ZZ4;M9999;345;32;70,0;0,9
A-6;20.11.2026;ZZ5;M9999;345;32;70,0;0,9;"M\u00fcller
und Sohn"
A-7;20.11.26;ZZ6;M9999;345;32;70,0;0,9;M\u00fcller
""".replace("\n", "\r\n")


def save(lab: LabClient, value: object, name: str = "old-bench") -> Answer:
    raw = json.dumps(value).encode()
    return lab.send("PUT", f"{MAPPINGS}/{name}", raw, "application/json")


def test_a_labs_own_csv_is_read_by_its_saved_mapping(lab: LabClient) -> None:
    assert save(lab, MAPPING).status == 200
    assert lab.get(f"{MAPPINGS}/old-bench").json == MAPPING
    taken = post(lab, CSV.encode("windows-1252"), "?mapping=old-bench", "text/csv")
    assert taken.status == 202, taken.raw
    told = verdicts(lab, taken)
    assert {line: item["outcome"] for line, item in told.items()} == {
        2: "stored",
        4: "refused",
        5: "refused",
        6: "refused",
        7: "refused",
        8: "refused",
        10: "refused",
    }
    assert {error["pointer"] for error in told[4]["errors"]} == {"/permanent_expansion/value"}
    assert "/date" in {error["pointer"] for error in told[5]["errors"]}
    assert "/total_expansion/value" in {error["pointer"] for error in told[6]["errors"]}
    assert "/date" in {error["pointer"] for error in told[10]["errors"]}
    kept = json.loads(TestRecord.objects.get(lab_reference="A-1").body)
    assert kept["operator"] == "M\u00fcller"
    assert kept["permanent_expansion"] == {"value": "0.9", "unit": "cc"}
    assert kept["date"] == "2026-11-20"


def test_an_xml_file_is_read_by_the_same_mapping(lab: LabClient) -> None:
    mapping = copy.deepcopy(MAPPING)
    for column in mapping["columns"]:
        column["column"] = column["field"].strip("/").replace("/", "_")
    save(lab, mapping)
    cells = {
        "lab_reference": "X-1",
        "cylinder_serial": "ZZ0",
        "cylinder_manufacturer_mark": "M9999",
        "date": "20.11.2026",
        "test_pressure": "345",
        "hold_seconds": "32",
        "total_expansion": "70,0",
        "permanent_expansion": "0,9",
        "operator": "op 4",
    }
    record = "".join(f"<{name}>{value}</{name}>" for name, value in cells.items())
    raw = f"<records><record>{record}</record></records>".encode()
    taken = post(lab, raw, "?mapping=old-bench", "application/xml")
    assert verdicts(lab, taken)[1]["outcome"] == "stored"


TWICE = CSV.replace("Lfd;", "Datum;", 1).replace("Zeit", "Lfd", 1)
_USE = b"<r><record><x>&b;</x></record></r>"
BOMB = b'<!DOCTYPE r [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>' + _USE
OUTSIDE = b'<!DOCTYPE r [<!ENTITY b SYSTEM "file:///etc/passwd">]>' + _USE


@pytest.mark.parametrize(
    ("raw", "kind", "code"),
    [
        (b"", "text/csv", "empty_batch"),
        (b"Lfd;Datum\r\n", "text/csv", "column_missing"),
        (CSV.replace(";", ",").encode("windows-1252"), "text/csv", "column_missing"),
        (
            CSV.replace("Lfd;", "Datum;", 1).replace("Zeit", "Lfd", 1).encode("windows-1252"),
            "text/csv",
            "column_twice",
        ),
        (CSV.encode("windows-1252") + b'"never closed', "text/csv", "malformed_file"),
        (CSV.replace("A-1", "A\x00").encode("windows-1252"), "text/csv", "malformed_file"),
        (b"\x81\x8d", "text/csv", "wrong_encoding"),
        (b"<records><record>", "application/xml", "malformed_file"),
        (BOMB, "application/xml", "malformed_file"),
        (OUTSIDE, "application/xml", "malformed_file"),
        (b"<r><record><a/><a/></record></r>", "application/xml", "column_twice"),
        (b"\n \n", NDJSON, "empty_batch"),
        (b"\xff\xfe", NDJSON, "wrong_encoding"),
        (b"{}\n" * 10_001, NDJSON, "batch_too_long"),
    ],
)
@pytest.mark.sampled(of=4)
def test_a_file_that_cannot_be_read_as_agreed_is_refused_whole(
    lab: LabClient, raw: bytes, kind: str, code: str
) -> None:
    save(lab, MAPPING)
    query = "" if kind == NDJSON else "?mapping=old-bench"
    answer = post(lab, raw, query, kind)
    assert (answer.status, answer.code) == (409, "unreadable_file")
    assert answer.json["errors"][0]["code"] == code
    assert not ResultBatch.objects.exists()


def test_a_file_without_its_mapping_is_refused(lab: LabClient) -> None:
    raw = CSV.encode("windows-1252")
    assert post(lab, raw, "", "text/csv").json["errors"][0]["code"] == "no_mapping"
    assert post(lab, raw, "?mapping=never-saved", "text/csv").code == "not_found"
    other = make_lab_client("Z998")
    save(other, MAPPING)
    assert post(lab, raw, "?mapping=old-bench", "text/csv").code == "not_found"


@pytest.mark.parametrize(
    "query", ["?dry_run=yes", "?dry_run=", "?mode=some", "?all=1", "?mapping=a&mapping=b"]
)
@pytest.mark.sampled(of=3)
def test_a_query_that_means_nothing_is_refused(lab: LabClient, query: str) -> None:
    assert post(lab, "{}", query).code == "invalid_query"


def test_a_file_beyond_the_limit_is_not_read(lab: LabClient) -> None:
    answer = post(lab, b"x" * (running.MOST_BYTES + 1))
    assert (answer.status, answer.code) == (413, "body_too_large")


@pytest.mark.parametrize("kind", ["application/json", "text/plain", "", "application/zip"])
@pytest.mark.sampled(of=3)
def test_another_kind_of_file_is_refused(lab: LabClient, kind: str) -> None:
    assert post(lab, "{}", "", kind).code == "unsupported_media_type"


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"columns": []}, "/columns"),
        ({"columns": [{"column": "A"}]}, "/columns/0/field"),
        ({"columns": [{"column": "A", "field": "serial"}]}, "/columns/0/field"),
        ({"columns": [{"column": "A", "field": "/date", "unit": "PSI"}]}, "/columns/0/unit"),
        ({"decimal": "."[:0]}, "/decimal"),
        ({"encoding": "ebcdic"}, "/encoding"),
        ({"delimiter": "\t"}, "/delimiter"),
        ({"guess": True}, "/guess"),
        ({"columns": [None]}, "/columns/0"),
        ({"columns": None}, "/columns"),
        ({"constants": [None]}, "/constants/0"),
    ],
)
@pytest.mark.sampled(of=4)
def test_a_wrong_mapping_is_refused_with_its_place(
    lab: LabClient, change: dict[str, Any], pointer: str
) -> None:
    answer = save(lab, MAPPING | change)
    assert (answer.status, answer.code) == (400, "invalid_body")
    assert pointer in {one["pointer"] for one in answer.json["errors"]}
    assert not FileMapping.objects.exists()


@pytest.mark.parametrize("value", [None, [], "x", 1, {}])
@pytest.mark.sampled(of=3)
def test_what_is_no_mapping_is_refused(lab: LabClient, value: object) -> None:
    assert save(lab, value).code == "invalid_body"


def test_a_mapping_fills_no_field_twice(lab: LabClient) -> None:
    twice = MAPPING | {"constants": [{"field": "/date", "value": "2026-11-20"}]}
    answer = save(lab, twice)
    assert (answer.status, answer.json["errors"][0]["code"]) == (409, "place_twice")


def test_another_lab_sees_neither_batch_nor_lines(lab: LabClient) -> None:
    taken = post(lab, "\n".join(lines(1)))
    other = make_lab_client("Z998")
    assert other.get(taken.headers["Location"]).code == "not_found"
    assert other.get(taken.json["lines"]).code == "not_found"
    assert connection.in_atomic_block is False
