"""Reading a record: every problem at once, each at its place, nothing guessed."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders.rules.judgement import Problem, UnusableBody, parse
from tests.rules.judgement.records import (
    DROP,
    cc,
    celsius,
    places,
    problems,
    psi,
    record,
)

REQUIRED = (
    "lab_reference",
    "cylinder",
    "date",
    "method",
    "test_pressure",
    "hold_seconds",
    "total_expansion",
    "permanent_expansion",
    "visual",
    "use",
    "disposition",
    "operator",
    "rin",
)
OPTIONAL = (
    "elastic_expansion",
    "ree",
    "limit_percent",
    "required_test_pressure",
    "reading_increment",
    "calibration",
    "eddy_current",
    "thread_inspection",
    "drying",
    "heat_exposure_c",
    "reason",
    "repeat_of",
    "stamp",
)


@pytest.mark.parametrize("body", [None, [], "x", 1, Decimal(1), True, [record()]])
def test_only_an_object_is_a_record(body: object) -> None:
    assert places(body) == {"": "wrong_type"}


def test_an_empty_object_lacks_everything_that_is_required() -> None:
    assert places({}) == {f"/{name}": "missing" for name in REQUIRED}


@pytest.mark.parametrize("name", REQUIRED)
@pytest.mark.parametrize("absent", [DROP, None])
def test_what_is_required_is_missed_whether_absent_or_null(name: str, absent: object) -> None:
    assert places(record({f"/{name}": absent})) == {f"/{name}": "missing"}


@pytest.mark.parametrize("name", OPTIONAL)
def test_what_is_optional_may_be_absent_or_null(name: str) -> None:
    assert parse(record({f"/{name}": DROP})) == parse(record({f"/{name}": None}))


def test_a_proof_pressure_test_needs_no_expansions() -> None:
    body = record(
        {"/method": "proof_pressure", "/total_expansion": DROP, "/permanent_expansion": None}
    )
    assert parse(body).total_expansion is None


@pytest.mark.parametrize(
    ("pointer", "value", "code"),
    [
        ("/hold_seconds", True, "wrong_type"),
        ("/hold_seconds", [], "wrong_type"),
        ("/hold_seconds", 32.0, "wrong_type"),
        ("/hold_seconds", "32 s", "not_a_number"),
        ("/hold_seconds", "1_0", "not_a_number"),
        ("/hold_seconds", "1e3", "not_a_number"),
        ("/hold_seconds", "٣٢", "not_a_number"),
        ("/hold_seconds", "\uff13\uff12", "not_a_number"),
        ("/hold_seconds", "32,5", "not_a_number"),
        ("/hold_seconds", "", "not_a_number"),
        ("/hold_seconds", "NaN", "not_a_number"),
        ("/hold_seconds", 10**18, "not_a_number"),
        ("/hold_seconds", -(10**18), "not_a_number"),
        ("/hold_seconds", Decimal("1E+19"), "not_a_number"),
        ("/hold_seconds", Decimal("1E-19"), "not_a_number"),
        ("/hold_seconds", Decimal("NaN"), "not_a_number"),
        ("/hold_seconds", Decimal("Infinity"), "not_a_number"),
        ("/limit_percent", 0, "out_of_range"),
        ("/limit_percent", -1, "out_of_range"),
        ("/limit_percent", 101, "out_of_range"),
        ("/method", "hydro", "not_one_of"),
        ("/method", "Water_Jacket", "not_one_of"),
        ("/method", 1, "not_one_of"),
        ("/disposition", "PASS ", "not_one_of"),
        ("/disposition", "pass", "not_one_of"),
        ("/disposition", "ok", "not_one_of"),
        ("/disposition", "1", "not_one_of"),
        ("/use", "diving", "not_one_of"),
        ("/visual/internal", True, "not_one_of"),
        ("/date", "2026-02-30", "bad_date"),
        ("/date", "2027-02-29", "bad_date"),
        ("/date", "0001-01-01", "bad_date"),
        ("/date", "1899-12-31", "bad_date"),
        ("/date", "2900-01-01", "bad_date"),
        ("/date", "9999-12-31", "bad_date"),
        ("/date", "2026-11-20T10:00:00Z", "bad_date"),
        ("/date", "20261120", "bad_date"),
        ("/date", "2026-W47-5", "bad_date"),
        ("/date", "20.11.2026", "bad_date"),
        ("/date", 20261120, "bad_date"),
        ("/date", "\uff12\uff10\uff12\uff16-11-20", "bad_date"),
        ("/cylinder/first_test", "2008-13", "bad_month"),
        ("/cylinder/first_test", "2900-01", "bad_month"),
        ("/cylinder/first_test", "1849-12", "bad_month"),
        ("/cylinder/first_test", "2008-00", "bad_month"),
        ("/cylinder/first_test", "06-2008", "bad_month"),
        ("/cylinder/first_test", "2008-06-01", "bad_month"),
        ("/cylinder/first_test", 200806, "bad_month"),
        ("/stamp/month", 0, "out_of_range"),
        ("/stamp/month", 13, "out_of_range"),
        ("/stamp/month", "11", "wrong_type"),
        ("/stamp/month", True, "wrong_type"),
        ("/stamp/month", Decimal("11.5"), "wrong_type"),
        ("/stamp/month", Decimal("1E+40"), "wrong_type"),
        ("/stamp/month", Decimal("NaN"), "wrong_type"),
        ("/stamp/year", 26, "out_of_range"),
        ("/stamp/symbol", 5, "wrong_type"),
        ("/fills", -1, "out_of_range"),
        ("/cylinder/serial", "", "bad_text"),
        ("/cylinder/serial", " QX1", "bad_text"),
        ("/cylinder/serial", "QX1\n", "bad_text"),
        ("/cylinder/serial", "QX\x001", "bad_text"),
        ("/cylinder/serial", "QX\u202e1", "bad_text"),
        ("/cylinder/serial", "QX\u200b1", "bad_text"),
        ("/cylinder/serial", "x" * 81, "bad_text"),
        ("/cylinder/serial", 104417, "wrong_type"),
        ("/cylinder/tag", 5, "wrong_type"),
        ("/reason", "x" * 2001, "bad_text"),
        ("/reason", "\x07", "bad_text"),
        ("/reason", {}, "wrong_type"),
        ("/cylinder", [], "wrong_type"),
        ("/visual", "pass", "wrong_type"),
        ("/calibration", "yes", "wrong_type"),
        ("/calibration/points", [], "wrong_type"),
        ("/calibration/points", {}, "wrong_type"),
        ("/calibration/points", None, "missing"),
        ("/calibration/points/0", 5, "wrong_type"),
        ("/calibration/points/0", None, "wrong_type"),
        ("/calibration/observed", None, "missing"),
        ("/owner", "x", "unknown_field"),
        ("/__proto__", {}, "unknown_field"),
        ("/limit_pct", "10", "unknown_field"),
        ("/cylinder/status", "ok", "unknown_field"),
        ("/eddy_current", {"result": "pass", "crack_thread_lengths": "-1"}, None),
        ("/gauge", {"full_scale": psi("9000"), "accuracy_percent": 0, "kind": "dial"}, None),
    ],
)
def test_one_wrong_field_is_one_problem_at_its_place(
    pointer: str, value: object, code: str | None
) -> None:
    found = places(record({pointer: value}))
    if code is None:
        ((place, code),) = found.items()
        assert place.startswith(pointer)
        assert code == "out_of_range"
    else:
        assert found == {pointer: code}


@pytest.mark.parametrize(
    ("quantity", "expected"),
    [
        ({"value": "5000"}, {"/test_pressure/unit": "missing"}),
        ({"unit": "psi"}, {"/test_pressure/value": "missing"}),
        ({"value": "5000", "unit": "PSI"}, {"/test_pressure/unit": "not_one_of"}),
        ({"value": "5000", "unit": "psig"}, {"/test_pressure/unit": "not_one_of"}),
        ({"value": "5000", "unit": "cc"}, {"/test_pressure/unit": "not_one_of"}),
        ({"value": "5000", "unit": 1}, {"/test_pressure/unit": "not_one_of"}),
        ({"value": None, "unit": "psi"}, {"/test_pressure/value": "missing"}),
        (
            {"value": "5000", "unit": "psi", "scale": 1},
            {"/test_pressure/scale": "unknown_field"},
        ),
        ("5000 psi", {"/test_pressure": "wrong_type"}),
        (5000, {"/test_pressure": "wrong_type"}),
    ],
)
def test_a_quantity_is_a_value_and_a_unit(quantity: object, expected: dict[str, str]) -> None:
    assert places(record({"/test_pressure": quantity})) == expected


@pytest.mark.parametrize(
    "pointer",
    ["/cylinder/service_pressure", "/required_test_pressure", "/system_check_pressure"],
)
@pytest.mark.parametrize("value", ["0", "-1"])
def test_some_quantities_must_be_more_than_zero(pointer: str, value: str) -> None:
    assert places(record({pointer: psi(value)})) == {pointer: "out_of_range"}


@pytest.mark.parametrize("value", ["0", "-1", "-0.0"])
def test_a_water_capacity_must_be_more_than_zero(value: str) -> None:
    assert places(record({"/cylinder/water_capacity": cc(value)})) == {
        "/cylinder/water_capacity": "out_of_range"
    }


def test_a_whole_number_with_a_zero_behind_the_point_is_whole() -> None:
    assert parse(record({"/stamp/month": Decimal("11.0")})) == parse(record())


def test_every_problem_is_found_in_one_reading() -> None:
    body = record(
        {
            "/hold_seconds": "long",
            "/date": "tomorrow",
            "/cylinder/serial": "",
            "/stamp/month": 13,
            "/test_pressure/unit": "atm",
        }
    )
    assert set(places(body)) == {
        "/hold_seconds",
        "/date",
        "/cylinder/serial",
        "/stamp/month",
        "/test_pressure/unit",
    }


def test_numbers_may_be_texts_or_json_numbers_alike() -> None:
    as_text = parse(record({"/hold_seconds": "32.50", "/heat_exposure_c": "-5"}))
    as_number = parse(record({"/hold_seconds": Decimal("32.50"), "/heat_exposure_c": -5}))
    assert as_text == as_number
    assert str(as_number.hold_seconds) == "32.50"
    with_exponent = parse(record({"/hold_seconds": Decimal("3.2E+1")}))
    assert str(with_exponent.hold_seconds) == "32"


@pytest.mark.parametrize("zero", ["-0.0", Decimal("-0.0"), "0.0", 0])
def test_a_negative_zero_is_zero(zero: object) -> None:
    read = parse(record({"/permanent_expansion/value": zero})).permanent_expansion
    assert read is not None
    assert not str(read.value).startswith("-")


def test_long_digits_are_kept() -> None:
    read = parse(record({"/total_expansion/value": Decimal("70.4000000001")}))
    assert str(read.total_expansion) == "70.4000000001 cc"


def test_notes_may_have_lines_and_any_markup_and_are_kept_as_sent() -> None:
    note = "=cmd|' /C calc'!A0\n<script>alert(1)</script>\t{{7*7}}"
    assert parse(record({"/visual/notes": note})).visual.notes == note


def test_a_field_name_is_escaped_in_its_pointer() -> None:
    body = record()
    body["a/b~c"] = 1
    (problem,) = problems(body)
    assert problem.pointer == "/a~1b~0c"


def test_a_problem_is_one_line_for_a_person() -> None:
    assert str(Problem("/a", "x", "is wrong")) == "/a: is wrong"
    assert str(Problem("", "x", "is wrong")) == "(body): is wrong"


def test_every_part_that_may_be_sent_is_read() -> None:
    body = parse(
        record(
            {
                "/eddy_current": {
                    "result": "pass",
                    "crack_thread_lengths": 0,
                    "equipment": "EC-1",
                    "reference_ring": "ring 4",
                },
                "/water": {"forced_in": cc("237.6"), "temperature": celsius("20")},
                "/gauge": {
                    "full_scale": psi("9000"),
                    "accuracy_percent": "0.5",
                    "division": psi("50"),
                    "kind": "dial",
                },
                "/fills": 12,
                "/system_check_pressure": psi("4000"),
            }
        )
    )
    assert body.eddy_current is not None
    assert body.eddy_current.equipment == "EC-1"
    assert body.water is not None
    assert str(body.water.temperature) == "20 C"
    assert body.gauge is not None
    assert body.gauge.analogue
    assert (body.fills, str(body.system_check_pressure)) == (12, "4000 psi")


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.decimals() | st.text(max_size=9) | st.floats(),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=4,
)
POINTERS = st.sampled_from(
    [f"/{name}" for name in (*REQUIRED, *OPTIONAL, "water", "gauge", "fills")]
    + ["/cylinder/serial", "/cylinder/service_pressure", "/calibration/points", "/stamp/year"]
    + ["/test_pressure/value", "/total_expansion/unit", "/visual/internal"]
)


@settings(max_examples=200, deadline=None)
@given(st.dictionaries(POINTERS, JSON, max_size=4))
def test_no_value_crashes_the_reader(changes: dict[str, Any]) -> None:
    body = record()
    for pointer, value in changes.items():
        *path, last = pointer.lstrip("/").split("/")
        place = body
        for step in path:
            inner = place[step]
            if not isinstance(inner, dict):
                break
            place = inner
        else:
            place[last] = value
    try:
        parse(body)
    except UnusableBody as unusable:
        assert all(problem.says for problem in unusable.problems)  # noqa: PT017 - may be usable
