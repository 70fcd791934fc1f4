"""The daily log and the record of one test: the regulation's fields, as CSV and as PDF."""

import csv
import datetime as dt
import io
import json
from pathlib import Path
from typing import Any

import pypdfium2  # type: ignore[import-untyped]  # it ships no types
import pytest
from django.core.management import CommandError, call_command

from api import test_logs
from cylinders.models import Cylinder, TestRecord
from cylinders.queries.test_log import FIELDS
from cylinders.rules.sheet import as_csv
from tests import makers
from tests.api.v1.lab import RECORDS, LabClient, body, make_lab_client, order_at

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

DAY = dt.date(2026, 11, 20)
LOG = "/api/v1/daily-logs/2026-11-20"
#: 49 CFR 180.215(b)(2), 2019-10-01 edition: what the record of a pressure test holds
REQUIRED = {
    "date_of_requalification",
    "serial_number",
    "specification_or_permit",
    "marked_pressure",
    "actual_dimensions",
    "manufacturer_name_or_symbol",
    "owner_name_or_symbol",
    "visual_inspection_result",
    "actual_test_pressure",
    "total_expansion",
    "elastic_expansion",
    "permanent_expansion",
    "percent_permanent_expansion",
    "disposition",
    "reason_for_repeat_rejection_or_condemnation",
    "date_of_earlier_test",
    "test_operator",
    "wall_stress_method",
}


def proof(**changes: Any) -> dict[str, Any]:
    """A proof pressure test; a lab that sends expansions with it has them left out of the log."""
    return body(
        method="proof_pressure", stamp={"month": 11, "year": 2026, "symbol": "S"}, **changes
    )


@pytest.fixture
def day(lab: LabClient) -> LabClient:
    """A day of four tests: one good, one rejected, one of proof, one held; and a check."""
    lab.post(makers.check_body(), path="/api/v1/calibrations")
    lab.post(body(reference="A-1", calibration=None))
    seen = {"internal": "fail", "external": "pass", "standard": "CGA C-6.1", "notes": "=1+1"}
    order_at(lab.lab, "RJ10000")
    lab.post(body("RJ10000", "A-2", visual=seen, disposition="rejected", reason="pits", stamp=None))
    order_at(lab.lab, "PR10000")
    lab.post(proof(serial="PR10000", reference="A-3"))
    order_at(lab.lab, "HE10000")
    lab.post(body("HE10000", "A-4", stamp={"month": 3, "year": 2024, "symbol": None}))
    return lab


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


def test_the_log_has_every_field_of_the_regulation() -> None:
    assert set(FIELDS) >= REQUIRED


def test_every_test_of_the_day_is_in_the_log_also_the_unsuccessful(day: LabClient) -> None:
    rows = {row["lab_reference"]: row for row in day.get(LOG).json["rows"]}
    assert list(rows) == ["CAL-1120-1", "A-1", "A-2", "A-3", "A-4"]
    told = {reference: (row["disposition"], row["state"]) for reference, row in rows.items()}
    assert told["A-2"] == ("rejected", "attached")
    assert told["A-4"] == ("passed", "held")
    good = rows["A-1"]
    assert good["actual_test_pressure"] == "5000 psi"
    assert (good["total_expansion"], good["permanent_expansion"]) == ("70.0 cc", "0.9 cc")
    assert (good["elastic_expansion"], good["percent_permanent_expansion"]) == ("69.1 cc", "1.3")
    assert (good["daily_check"], good["test_operator"]) == ("CAL-1120-1", "op 4")
    assert good["actual_dimensions"] == "water 11.1 L"
    assert rows["CAL-1120-1"]["serial_number"] == "CAL-3"
    assert "certificate C-88" in rows["CAL-1120-1"]["notes"]


def test_a_proof_test_has_no_expansions_in_the_log(day: LabClient) -> None:
    # agency letter 21-0100 (2022-01-19): these fields are not needed for a proof pressure test
    row = day.get(LOG).json["rows"][3]
    assert row["method"] == "proof pressure"
    assert {name for name in FIELDS if "expansion" in name and row[name]} == set()
    assert row["actual_test_pressure"] == "5000 psi"


def test_a_voided_and_a_superseded_test_stay_in_the_log(day: LabClient) -> None:
    day.post({"reason": "another cylinder's"}, path=f"{RECORDS}/A-1/void")
    rows = {row["lab_reference"]: row for row in day.get(LOG).json["rows"]}
    assert rows["A-1"]["state"] == "voided"


def test_a_second_test_names_the_day_of_the_first(day: LabClient) -> None:
    day.post(body(reference="A-5", repeat_of="A-1", reason="gauge fell", date="2026-11-21"))
    row = day.get("/api/v1/daily-logs/2026-11-21").json["rows"][0]
    assert row["date_of_earlier_test"] == "2026-11-20"


def test_the_csv_holds_the_same_and_no_cell_is_a_formula(day: LabClient) -> None:
    answer = day.get(f"{LOG}/csv")
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert 'filename="log-Z999-2026-11-20.csv"' in answer.headers["Content-Disposition"]
    rows = rows_of(answer.raw.decode())
    assert tuple(rows[0]) == FIELDS
    assert [row["lab_reference"] for row in rows] == ["CAL-1120-1", "A-1", "A-2", "A-3", "A-4"]
    assert rows[2]["notes"] == "'=1+1"


@pytest.mark.parametrize(
    "bad", ["=1+1", "+1", "-1+cmd", "@SUM(A1)", "\t=1", "\r=1", "\uff1d1", " =1"]
)
def test_a_cell_that_begins_like_a_formula_is_defused(bad: str) -> None:
    [row] = rows_of(as_csv(("a", "b"), [{"a": bad, "b": "KX1"}]))
    assert (row["a"], row["b"]) == (f"'{bad}", "KX1")


def test_the_pdf_says_what_the_log_says(day: LabClient) -> None:
    answer = day.get(f"{LOG}/pdf")
    assert answer.headers["Content-Type"] == "application/pdf"
    said = text_of(answer.raw)
    for word in ("Z999", "2026-11-20", "KX40417", "RJ10000", "pits", "op 4", "CAL-3", "180.215"):
        assert word in said
    assert day.get(f"{LOG}/pdf").raw == answer.raw


def test_a_long_day_goes_over_several_sheets_and_loses_nothing(day: LabClient) -> None:
    log = test_logs.of_day(day.lab, DAY)
    many = tuple(log.rows[1] | {"lab_reference": f"MANY-{n:03}"} for n in range(120))
    pdf = test_logs.Log(log.title, log.name, many).as_pdf()
    said = text_of(pdf)
    assert len(pypdfium2.PdfDocument(pdf)) > 3
    assert all(f"MANY-{n:03}" in said for n in range(120))


def test_a_letter_that_no_font_has_is_given_by_its_number(day: LabClient) -> None:
    log = test_logs.of_day(day.lab, DAY)
    pdf = test_logs.Log("log", "log", (log.rows[1] | {"test_operator": "\u4e2d"},)).as_pdf()
    assert "[U+4E2D]" in text_of(pdf)


def test_one_test_is_a_file_of_its_own_with_the_check_it_leans_on(day: LabClient) -> None:
    rows = rows_of(day.get(f"{RECORDS}/A-1/csv").raw.decode())
    assert [row["lab_reference"] for row in rows] == ["CAL-1120-1", "A-1"]
    assert "KX40417" in text_of(day.get(f"{RECORDS}/A-1/pdf").raw)


def test_another_labs_log_is_not_told(day: LabClient) -> None:
    other = make_lab_client("Z998")
    assert other.get(LOG).json["rows"] == []
    assert other.get(f"{RECORDS}/A-1/csv").status == 404
    for wrong in ("2026-13-01", "today", "20261120"):
        assert day.get(f"/api/v1/daily-logs/{wrong}").status == 404


def test_the_command_prints_the_log_and_the_tests_of_one_cylinder(
    day: LabClient, tmp_path: Path
) -> None:
    assert len(_printed("--rin", "Z999", "--day", "2026-11-20", "--json")["rows"]) == 5
    day.post(body(reference="A-6", date="2026-11-21"))
    of_one = _printed("--serial", "kx40417", "--json")["rows"]
    assert [row["lab_reference"] for row in of_one] == ["A-1", "A-6"]
    file = tmp_path / "log.pdf"
    call_command("test_log", "--rin", "Z999", "--day", "2026-11-20", "--pdf", str(file))
    assert file.read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize(
    "wrong",
    [[], ["--rin", "Z000", "--day", "2026-11-20"], ["--serial", "NEVERSEEN"], ["--rin", "Z999"]],
)
@pytest.mark.sampled(of=3)
def test_the_command_says_what_it_cannot_use(day: LabClient, wrong: list[str]) -> None:
    with pytest.raises(CommandError):
        call_command("test_log", *wrong)


def test_an_empty_day_is_said(day: LabClient) -> None:
    with pytest.raises(SystemExit):
        call_command("test_log", "--rin", "Z999", "--day", "2026-01-01", stdout=io.StringIO())
    assert "No test was recorded" in text_of(
        test_logs.of_day(day.lab, dt.date(2026, 1, 1)).as_pdf()
    )


def test_the_lab_reads_the_stored_record_whatever_became_of_its_cylinder(day: LabClient) -> None:
    Cylinder.objects.update(life="condemned")
    assert TestRecord.objects.count() == 4
    assert len(day.get(LOG).json["rows"]) == 5


def _printed(*arguments: str) -> Any:
    out = io.StringIO()
    call_command("test_log", *arguments, stdout=out)
    return json.loads(out.getvalue())
