import datetime as dt
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders.rules.cylinder_facts import Service
from cylinders.rules.extra_rows import ExtraRows, PermitRow
from cylinders.rules.markings import read
from cylinders.rules.month import Month
from cylinders.rules.stamp_due import Json, answer
from cylinders.rules.verdict import Citation
from tests.rules.cast import TODAY

ALUMINIUM = "DOT-3AL3000\nZ12345\nM9999 06-08\n"
LOOKED = Month(2026, 5)


def told(
    text: str, *, on: dt.date = TODAY, country: str = "US", visual: Month | None = LOOKED
) -> Json:
    return answer(read(text, on=on, country=country), last_visual=visual)


def item(told: Json, duty: str) -> Json:
    found: Json = next(one for one in told["items"] if one["duty"] == duty)
    return found


def reasons(told: Json) -> list[str]:
    return [one["code"] for one in told["fill"]["reasons"]]


def test_the_answer_has_the_promised_fields_and_is_json() -> None:
    found = told(ALUMINIUM + "11 A1/32 21")
    assert found["on"] == "2026-11-25"
    assert set(found["fill"]) >= {"allowed", "reasons", "max_pressure"}
    for one in found["items"]:
        assert set(one) >= {"cylinder", "tag", "duty", "due", "state", "says", "cites"}
    requalification = item(found, "requalification")
    assert requalification["cylinder"] == "Z12345"
    assert requalification["tag"] is None
    assert requalification["due"] == "2026-11-30"
    assert requalification["state"] == "due_this_month"
    assert requalification["last_done"] == "2021-11"
    assert json.loads(json.dumps(found)) == found


def test_in_date_it_may_be_filled_to_its_mark() -> None:
    fill = told(ALUMINIUM + "11 A1/32 24")["fill"]
    assert fill["allowed"] is True
    assert fill["reasons"] == []
    assert fill["max_pressure"] == {"value": "3000", "unit": "psi"}


def test_a_reason_has_code_sentence_and_source() -> None:
    fill = told(ALUMINIUM + "10 A1/32 21")["fill"]
    assert fill["allowed"] is False
    assert [set(one) for one in fill["reasons"]] == [{"code", "says", "cites"}]
    assert fill["reasons"][0]["code"] == "requalification_overdue"
    assert fill["notes"][0]["code"] == "use_until_empty"


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("CONDEMNED\n" + ALUMINIUM + "11 A1/32 24", ["condemned"]),
        ("DOT-39 NRC 250/500 M1001", ["not_refillable"]),
        ("DOT-SP99999-3442\nZ1\n06-20", ["requalification_unknown"]),
        (ALUMINIUM + "12 A1/32 26", ["requalification_overdue"]),
        ("DOT-3AA2250\nZ1\n5-09\n11 B4/65 19 \u2605", ["requalification_overdue"]),
        ("DOT-3AA2250\nZ1\n5-09\n7 D0/21 23 E", ["requalification_overdue"]),
        ("DOT-3AL3000\nZ1\n5-85\n5 A1/32 24", ["thread_examination_unknown"]),
        ("3AL 3000\nZ1\n06-08\n11 A1/32 24", ["authority_unknown"]),
    ],
)
def test_what_stops_a_fill_is_named(text: str, codes: list[str]) -> None:
    assert reasons(told(text)) == codes


@pytest.mark.parametrize("text", ["CONDEMNED " + ALUMINIUM, "DOT-39 NRC 250/500 M1001"])
def test_what_may_never_be_filled_has_no_duties_and_no_pressure(text: str) -> None:
    found = told(text)
    assert found["items"] == []
    assert found["fill"]["max_pressure"] is None


def test_an_alloy_entered_lifts_the_assumption() -> None:
    reading = read("DOT-3AL3000\nZ1\n5-85\n5 A1/32 24", on=TODAY)
    assert answer(reading, last_visual=LOOKED, alloy="6061-T6")["fill"]["allowed"] is True


@pytest.mark.parametrize(
    ("text", "pressure"),
    [
        ("DOT-3AA2250\nZ1\n5-09\n5 A1/32 24 +", "2475"),
        ("DOT-3AA2250\nZ1\n5-09\n5 A1/32 19 +\n5 A1/32 24", "2250"),
        ("DOT-3AA2250+\nZ1\n5-09\n5 A1/32 24", "2250"),
        ("DOT-3AL3000\nZ1\n5-09\n5 A1/32 24 +", "3000"),
    ],
)
def test_the_highest_pressure_follows_the_plus_on_the_latest_test(text: str, pressure: str) -> None:
    fill = told(text)["fill"]
    assert fill["allowed"] is True
    assert fill["max_pressure"] == {"value": pressure, "unit": "psi"}


def test_a_doubtful_stamp_is_not_filled_although_everything_is_in_date() -> None:
    fill = told("DOT-3AL3000/TC-3ALM100\nZ1\n06-08\n11 A1/32 24")["fill"]
    assert fill["allowed"] is False
    assert {one["code"] for one in fill["reasons"]} == {"stamp_in_doubt"}


@pytest.mark.parametrize(
    ("country", "due"), [("US", "2031-06-30"), ("DE", "2026-06-30"), ("NZ", "2023-06-30")]
)
def test_the_country_decides_how_long_a_un_cylinder_is_in_date(country: str, due: str) -> None:
    found = told("UN ISO 7866 USA/M9999 AB 2021/06\nPH348BAR PW232BAR", country=country)
    assert item(found, "requalification")["due"] == due


def test_service_and_owner_s_rows_are_taken() -> None:
    reading = read("DOT-SP99999-3442\nZ1\n06-20", on=TODAY)
    row = PermitRow(permit="99999", interval_months=60, cites=Citation("DOT-SP 99999"))
    found = answer(
        reading, service=Service.INDUSTRIAL, extra=ExtraRows(permits=(row,)), last_visual=None
    )
    assert [one["duty"] for one in found["items"]] == ["requalification"]
    assert found["service"] == "industrial"
    assert reasons(found) == ["requalification_overdue"]


@pytest.mark.parametrize(
    ("text", "name"),
    [
        (ALUMINIUM, "Z12345"),
        ("25E USA 123456 H\nPH300BAR PW200BAR\nUN ISO 9809-1 USA/M9999 AB 2021/06", "123456"),
        ("DOT-3AL3000", "3AL"),
        ("5 A1/32 21", "stamp"),
    ],
)
def test_an_item_is_named_by_what_is_stamped(text: str, name: str) -> None:
    assert item(told(text), "requalification")["cylinder"] == name


def test_what_was_asked_and_not_read_is_passed_on() -> None:
    found = told(ALUMINIUM + "11 A1/32 24\n04/05\n@@@")
    assert [one["code"] for one in found["questions"]] == ["date_order"]
    assert found["unread"]


@given(st.text(max_size=80), st.sampled_from(["US", "DE", "GB", "CH", "FR", ""]))
@settings(max_examples=200)
def test_any_text_is_answered_and_none_without_a_specification_is_filled(
    text: str, country: str
) -> None:
    found = told(text, country=country)
    json.dumps(found)
    reading = read(text, on=TODAY, country=country)
    if reading.original is None and reading.un is None:
        assert found["fill"]["allowed"] is False
