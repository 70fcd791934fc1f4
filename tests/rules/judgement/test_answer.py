"""The answer has the published shape."""

import json

import pytest

from cylinders.rules.judgement import as_json
from tests.rules.judgement.records import aircraft, cc, judged, permit, record, steel

CODES = {
    *("test_pressure", "hold", "numbers_possible", "permanent_expansion", "elastic_expansion"),
    *("near_limit", "plausible", "calibration", "gauge", "visual", "threads", "eddy_current"),
    *("drying", "heat", "life", "disposition", "stamp", "rin", "repeat", "permit", "plus"),
}
OUTCOMES = {"ok", "fail", "caution", "unknown"}
VERDICTS = {"passed", "condemned", "rejected", "invalid", "held"}


@pytest.mark.parametrize(
    "body",
    [
        record(),
        record({"/total_expansion": cc("0")}),
        steel({"/stamp/symbol": "+", "/repeat_of": "NG-1"}),
        aircraft({"/cylinder/first_test": "1999-01"}),
        permit({"/limit_percent": None}),
        record({"/cylinder/specification": "5Q"}),
    ],
)
def test_every_answer_has_the_same_names_and_words(body: object) -> None:
    answer = json.loads(json.dumps(as_json(judged(body))))
    assert {
        "verdict",
        "percent_permanent",
        "required_test_pressure",
        "elastic_expansion",
        "next_due",
        "checks",
    } <= answer.keys()
    assert answer["verdict"] in VERDICTS
    for check in answer["checks"]:
        assert check.keys() == {"code", "outcome", "says", "cites"}
        assert check["code"] in CODES
        assert check["outcome"] in OUTCOMES
        assert check["says"]
        assert check["cites"]


def test_the_figures_are_decimal_texts() -> None:
    answer = as_json(judged(record()))
    assert answer["percent_permanent"] == "1.8"
    assert answer["required_test_pressure"] == {"value": "5000", "unit": "psi"}
    assert answer["elastic_expansion"] == {"value": "69.2", "unit": "cc"}
    assert answer["next_due"] == "2031-11"
    assert answer["reasons"] == []
    assert answer["on"] == "2026-11-25"


def test_what_is_not_known_is_null() -> None:
    answer = as_json(judged(permit({"/required_test_pressure": None})))
    assert answer["required_test_pressure"] is None
    assert answer["next_due"] is None
    impossible = as_json(judged(record({"/permanent_expansion": cc("-1")})))
    assert impossible["percent_permanent"] is None
    assert impossible["elastic_expansion"] is None
    assert impossible["reasons"]
