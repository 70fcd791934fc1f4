"""The promised shape: every field that is promised is there, and what follows from the marks."""

import json
from typing import Any

import pytest

from cylinders.rules.markings import as_json
from tests.rules.markings.reading_of import reading_of

ALWAYS = {
    "original": {
        "authority",
        "spec",
        "service_pressure",
        "min_test_pressure",
        "material",
        "serial",
        "manufacturer_mark",
        "inspector_mark",
        "test_date",
        "symbol",
        "permit",
        "ree_cc",
        "refillable",
    },
    "original_un": {
        "standard",
        "test_pressure",
        "working_pressure",
        "water_capacity_l",
        "thread",
        "serial",
        "initial_date",
        "final_date",
        "material",
    },
    "requalification": {"date", "rin", "symbol", "test", "future"},
}


def first(text: str, country: str = "US") -> dict[str, Any]:
    marks: list[dict[str, Any]] = as_json(reading_of(text, country))["marks"]
    return marks[0]


@pytest.mark.parametrize("text", ["DOT-3AL3000", "UN ISO 9809-1", "5 A1/32 21"])
def test_what_is_promised_for_a_kind_is_always_there(text: str) -> None:
    mark = first(text)
    assert set(mark) >= ALWAYS[mark["kind"]]


def test_the_whole_answer_is_json_of_the_promised_names() -> None:
    answer = as_json(reading_of("TC-3ALM207 / DOT-3AL3000\nQ!\n04/05/06"))
    assert json.loads(json.dumps(answer)) == answer
    assert list(answer) == [
        "text",
        "on",
        "country",
        "marks",
        "dual",
        "warnings",
        "questions",
        "unread",
        "unread_at",
    ]
    assert answer["on"] == "2026-11-25"
    assert answer["dual"] == {"consistent": True, "difference_percent": "0.08"}
    assert answer["unread"] == ["Q!"]
    assert answer["unread_at"] == [{"text": "Q!", "start": 25, "line": 2, "column": 1}]
    assert answer["questions"][0]["code"] == "date_order"
    assert as_json(reading_of(""))["dual"] is None


def test_numbers_are_decimal_texts() -> None:
    mark = first("DOT-3HT1850 REE 62.5\n4321")
    assert mark["service_pressure"] == {"value": "1850", "unit": "psi"}
    assert mark["min_test_pressure"] == {"value": "3084", "unit": "psi"}
    assert mark["ree_cc"] == "62.5"


@pytest.mark.parametrize(
    ("text", "due"),
    [
        ("5 A1/32 21", "2026-05"),
        ("DOT-3AL3000\n5 A1/32 21", "2026-05"),
        ("DOT-3HT1850 REE 62.5\n5 A1/32 21", "2024-05"),
        ("5 A1/32 21 \u2605", "2031-05"),
        ("5 A1/32 21 E", "2026-05"),
        ("DOT-SP99999-3442\n5 A1/32 21", None),
        ("DOT-4L200\n5 A1/32 21", None),
        ("UN ISO 9809-1\n5 A1/32 21", None),
        ("12 A1/32 26", None),
    ],
)
def test_a_due_month_is_given_only_where_it_follows(text: str, due: str | None) -> None:
    (mark,) = [m for m in as_json(reading_of(text))["marks"] if m["kind"] == "requalification"]
    assert mark.get("due") == due


def test_a_star_says_the_shorter_due_month_too() -> None:
    mark = first("11 B4/65 19 \u2605")
    assert (mark["due"], mark["scuba_ok"]) == ("2029-11", False)
    assert "due 2024-11" in mark["warning"]


def test_a_star_where_none_may_be_gives_no_longer_period() -> None:
    answer = as_json(reading_of("DOT-3AL3000\n11 B4/65 19 \u2605"))
    assert answer["marks"][1]["due"] == "2024-11"


@pytest.mark.parametrize(
    ("symbol", "test"),
    [
        ("", "volumetric expansion"),
        ("+", "volumetric expansion"),
        ("\u2605+", "volumetric expansion"),
        ("UE", "ultrasonic examination + visual"),
        ("V", None),
        ("F", "strength test"),
    ],
)
def test_a_symbol_says_which_test_was_made(symbol: str, test: str | None) -> None:
    assert first(f"5 A1/32 21 {symbol}")["test"] == test


def test_an_illegible_rin_has_no_block() -> None:
    assert first("5 A?/32 21")["block"] is None
    assert first("5 A1/32 21")["block"] == {"top": "A1", "bottom": "32"}


@pytest.mark.parametrize(
    ("text", "material", "years"),
    [
        ("UN ISO 9809-1", "steel", 10),
        ("UN EN 1964-1", "steel", 10),
        ("UN H", "steel", 10),
        ("UN ISO 7866", "aluminium", 10),
        ("UN AA6061", "aluminium", 10),
        ("UN ISO 11119-2", None, 5),
        ("UN", None, 10),
    ],
)
def test_metal_and_period_of_a_receptacle(text: str, material: str | None, years: int) -> None:
    mark = first(text)
    assert (mark["material"], mark["interval_years"]) == (material, years)


def test_a_receptacle_without_a_standard_says_so() -> None:
    assert first("UN")["standard"] is None
    assert first("ISO 3807-2/ISO 9809-1")["standard"] == ["ISO 3807-2", "ISO 9809-1"]


def test_small_marks_have_their_fields() -> None:
    assert first("RETHREAD") == {"kind": "repair", "word": "RETHREAD"}
    assert first("M25x2") == {"kind": "thread", "value": "M25x2"}
    assert first("FINAL 2035/03")["final_date"] == "2035-03"
    assert first("CONDEMNED")["method"] == "the word CONDEMNED"
    assert first("24/03 F", "DE")["meaning"].startswith("strength test")


def test_the_highest_fill_is_given_only_where_a_plus_stands() -> None:
    stamp = "DOT-3AA2250\n1001\nXY\nAB 5-95+"
    assert first(stamp)["max_fill"] == {"value": "2475", "unit": "psi"}
    assert "max_fill" not in first(f"{stamp}\n5 A1/32 01")


def test_the_metal_of_a_permit_is_known_by_its_alloy_alone() -> None:
    assert first("DOT-SP99999-3442")["material"] is None
    assert first("DOT-SP99999-3442 Z1 AA6351")["material"] == "aluminium"
