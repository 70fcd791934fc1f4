"""Bodies that go wrong in the ways bodies do: each is refused, or judged and not passed.

What is wrong with the text itself (encodings, doubled names, depth) stands in ``test_strict_json``;
what is wrong with one field's shape in ``test_parsing``. Here is what only its meaning gives away.
"""

from typing import Any

import pytest

from cylinders.rules.judgement import KnownCylinder, LabStanding, Verdict, judge, loads, parse
from cylinders.rules.verdict import Outcome
from tests.rules.judgement.records import (
    POSTS,
    TESTED,
    TODAY,
    cc,
    outcome,
    places,
    psi,
    record,
    steel,
    verdict,
)


def test_the_right_tag_with_the_wrong_serial() -> None:
    known = KnownCylinder(serial="QX104418")
    assert verdict(record({"/cylinder/tag": "C-1"}), known_cylinder=known) is Verdict.HELD


def test_a_condemned_cylinder_posted_as_passed() -> None:
    assert verdict(record(), known_cylinder=KnownCylinder(condemned=True)) is Verdict.HELD


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # passed with more permanent expansion than allowed
        ({"/permanent_expansion": cc("7.05")}, Verdict.CONDEMNED),
        ({"/permanent_expansion": cc("7.0400000001")}, Verdict.CONDEMNED),
        # more permanent than total, below zero, a total of nothing
        ({"/permanent_expansion": cc("70.5")}, Verdict.INVALID),
        ({"/permanent_expansion": cc("-0.0000000001")}, Verdict.INVALID),
        ({"/total_expansion": cc("0"), "/permanent_expansion": cc("0")}, Verdict.INVALID),
        ({"/total_expansion": cc("-70.4"), "/permanent_expansion": cc("-1")}, Verdict.INVALID),
        # test pressure short, nothing, below zero, ten times
        ({"/test_pressure": psi("4999.9999")}, Verdict.INVALID),
        ({"/test_pressure": psi("0")}, Verdict.INVALID),
        ({"/test_pressure": psi("-5000")}, Verdict.INVALID),
        ({"/test_pressure": psi("50000")}, Verdict.INVALID),
        # psi in a bar field, bar in a psi field
        ({"/test_pressure": {"value": "5000", "unit": "bar"}}, Verdict.INVALID),
        ({"/test_pressure": psi("345")}, Verdict.INVALID),
        ({"/cylinder/service_pressure": {"value": "3000", "unit": "bar"}}, Verdict.INVALID),
        # cubic inches, litres and a shifted point in the expansions
        ({"/total_expansion": cc("4.3"), "/permanent_expansion": cc("0.1")}, Verdict.INVALID),
        ({"/total_expansion": cc("704"), "/permanent_expansion": cc("12")}, Verdict.INVALID),
        ({"/total_expansion": cc("7.04"), "/permanent_expansion": cc("0.12")}, Verdict.INVALID),
        ({"/cylinder/water_capacity": cc("11.1")}, Verdict.INVALID),
        # days that cannot be
        ({"/date": "2026-11-26"}, Verdict.INVALID),
        ({"/date": "2899-11-20", "/stamp/year": 2899}, Verdict.INVALID),
        ({"/date": "1986-11-20", "/stamp/year": 1986}, Verdict.INVALID),
        ({"/date": "1986-11-20"}, Verdict.HELD),  # and the stamp contradicts it
        ({"/hold_seconds": 0}, Verdict.INVALID),
    ],
)
def test_numbers_that_are_wrong(changes: dict[str, Any], expected: Verdict) -> None:
    plain = {"/elastic_expansion": None, "/calibration": None, "/reading_increment": None}
    assert verdict(record(plain | changes)) is expected


def test_a_passed_test_of_ten_years_ago_is_noticed() -> None:
    old = {
        "/date": "2016-11-20",
        "/stamp/year": 2016,
        "/calibration": None,
    }
    assert outcome(record(old), "stamp") == (Verdict.PASSED, Outcome.CAUTION)
    recent = old | {"/date": "2021-11-20", "/stamp/year": 2021}
    assert outcome(record(recent), "stamp") == (Verdict.PASSED, Outcome.OK)


def test_a_minus_before_a_zero_is_no_negative_expansion() -> None:
    zero = {"/permanent_expansion": cc("-0.0"), "/elastic_expansion": None}
    assert verdict(record(zero)) is Verdict.PASSED


@pytest.mark.parametrize("word", ["PASS ", "pass", "ok", "1", "Passed", "passed "])
def test_a_result_spelt_otherwise_is_not_guessed(word: str) -> None:
    assert places(record({"/disposition": word})) == {"/disposition": "not_one_of"}


def test_an_examination_that_a_steel_cylinder_does_not_need() -> None:
    seen = {"result": "pass", "crack_thread_lengths": "0", "equipment": "E", "reference_ring": "R"}
    assert outcome(steel({"/eddy_current": seen}), "eddy_current")[1] is Outcome.CAUTION


def test_a_number_of_the_lab_that_has_run_out() -> None:
    ended = LabStanding("Z999", TESTED.replace(day=19))
    assert verdict(record(), lab=ended) is Verdict.INVALID


@pytest.mark.parametrize("name", ["owner", "status", "id", "__proto__", "callback_url"])
def test_fields_that_nobody_asked_for(name: str) -> None:
    assert places(record({f"/{name}": "https://example.test/"})) == {f"/{name}": "unknown_field"}


def test_markup_and_formulas_in_notes_change_nothing() -> None:
    note = "<script>alert(1)</script> =1+1 @SUM(A1) {{7*7}} ' OR 1=1--"
    assert verdict(record({"/visual/notes": note, "/thread_inspection/notes": note})) is (
        Verdict.PASSED
    )


def test_the_same_body_is_always_judged_the_same() -> None:
    for path in sorted(POSTS.glob("[!u]*.json")):
        body = parse(loads(path.read_bytes()))
        assert judge(body, on=TODAY) == judge(body, on=TODAY)
