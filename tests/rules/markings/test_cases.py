"""Every case of fixtures/cases/markings.toml: what must be read, warned of and asked."""

import datetime as dt
import tomllib
from pathlib import Path
from typing import Any

import pytest

from cylinders.rules.markings import as_json, read

_FILE = Path(__file__).parents[3] / "fixtures" / "cases" / "markings.toml"
CASES: list[dict[str, Any]] = tomllib.loads(_FILE.read_text(encoding="utf-8"))["case"]


def _answer(case: dict[str, Any]) -> dict[str, Any]:
    given = case["given"]
    day = dt.date.fromisoformat(given["on"])
    return as_json(read(case["text"], on=day, country=given["country"]))


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case["id"]))
def test_the_marks_of_a_case_are_read(case: dict[str, Any]) -> None:
    answer = _answer(case)
    assert len(answer["marks"]) >= len(case["marks"])
    for got, expected in zip(answer["marks"], case["marks"], strict=False):
        nulls = dict.fromkeys(expected.get("null", ()))
        wanted = {name: value for name, value in expected.items() if name != "null"} | nulls
        assert {name: got[name] for name in wanted} == wanted


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case["id"]))
def test_a_case_warns_and_asks_for_what_it_must_and_nothing_else(case: dict[str, Any]) -> None:
    answer = _answer(case)
    assert {one["code"] for one in answer["warnings"]} == set(case["warnings"])
    assert {one["code"] for one in answer["questions"]} == set(case["questions"])
    assert answer["dual"] == case.get("dual")
    assert answer["unread"] == []


def test_there_is_a_case_for_every_stamp_that_was_collected() -> None:
    assert len({case["id"] for case in CASES}) == len(CASES) == 36


def test_every_case_names_its_source() -> None:
    assert all(case["source"] and case["basis"] in {"source", "composed"} for case in CASES)
