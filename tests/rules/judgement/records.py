"""Test records as a lab sends them: the stored good one, with changes by JSON Pointer."""

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from cylinders.rules.judgement import (
    Judgement,
    Problem,
    TestBody,
    UnusableBody,
    Verdict,
    loads,
    parse,
)
from cylinders.rules.judgement import judge as judge_body
from cylinders.rules.verdict import Finding, Outcome

POSTS = Path(__file__).resolve().parents[3] / "fixtures" / "lab_posts"
TODAY = dt.date(2026, 11, 25)
TESTED = dt.date(2026, 11, 20)
DROP = object()


def psi(value: str) -> dict[str, str]:
    return {"value": value, "unit": "psi"}


def cc(value: str) -> dict[str, str]:
    return {"value": value, "unit": "cc"}


def celsius(value: str) -> dict[str, str]:
    return {"value": value, "unit": "C"}


def record(changes: dict[str, Any] | None = None) -> dict[str, Any]:
    """The good record with ``changes`` by pointer ("/cylinder/alloy"); DROP takes a field out."""
    body = loads((POSTS / "passed.json").read_bytes())
    assert isinstance(body, dict)
    for pointer, value in (changes or {}).items():
        *path, last = pointer.lstrip("/").split("/")
        place: Any = body
        for step in path:
            place = place[int(step)] if isinstance(place, list) else place[step]
        if value is DROP:
            del place[last]
        else:
            place[int(last) if isinstance(place, list) else last] = value
    return body


def steel(changes: dict[str, Any] | None = None) -> dict[str, Any]:
    """A steel 3AA of 2400 psi and 12.5 L in place of the aluminium cylinder."""
    return record(
        {
            "/cylinder/specification": "3AA",
            "/cylinder/alloy": None,
            "/cylinder/service_pressure": psi("2400"),
            "/cylinder/water_capacity": {"value": "12.541", "unit": "L"},
            "/test_pressure": psi("4000"),
            "/total_expansion": cc("56.3"),
            "/permanent_expansion": cc("0.3"),
            "/elastic_expansion": cc("56.0"),
            "/calibration": None,
            "/visual/standard": "CGA C-6",
            **(changes or {}),
        }
    )


def aircraft(changes: dict[str, Any] | None = None) -> dict[str, Any]:
    """A 3HT of 1850 psi with its stamped rejection elastic expansion."""
    return steel(
        {
            "/cylinder/specification": "3HT",
            "/cylinder/service_pressure": psi("1850"),
            "/cylinder/water_capacity": None,
            "/cylinder/first_test": "2012-03",
            "/test_pressure": psi("3100"),
            "/total_expansion": cc("61.0"),
            "/permanent_expansion": cc("0.5"),
            "/elastic_expansion": cc("60.5"),
            "/ree": cc("62.5"),
            "/fills": 900,
            "/use": "industrial",
            "/visual/standard": "CGA C-8",
            **(changes or {}),
        }
    )


def permit(changes: dict[str, Any] | None = None) -> dict[str, Any]:
    """A special permit cylinder whose lab gives the permit's figures."""
    return steel(
        {
            "/cylinder/specification": "SPECIAL_PERMIT",
            "/cylinder/permit": "DOT-SP 99999",
            "/cylinder/service_pressure": psi("3442"),
            "/test_pressure": psi("5250"),
            "/required_test_pressure": psi("5250"),
            "/limit_percent": "10",
            **(changes or {}),
        }
    )


def read(body: object) -> TestBody:
    return parse(body)


def judged(body: object, **beside: Any) -> Judgement:
    return judge_body(parse(body), on=beside.pop("on", TODAY), **beside)


def verdict(body: object, **beside: Any) -> Verdict:
    return judged(body, **beside).verdict


def check(judgement: Judgement, code: str) -> Finding:
    """The one finding under ``code``."""
    (found,) = [finding for finding in judgement.checks if finding.code == code]
    return found


def outcome(body: object, code: str, **beside: Any) -> tuple[Verdict, Outcome]:
    """The verdict, and what the check ``code`` found."""
    result = judged(body, **beside)
    return result.verdict, check(result, code).outcome


def problems(body: object) -> list[Problem]:
    """Everything that makes ``body`` unusable; the test fails where it is usable."""
    with pytest.raises(UnusableBody) as unusable:
        parse(body)
    assert unusable.value.problems
    return unusable.value.problems


def places(body: object) -> dict[str, str]:
    """Pointer to code of every problem."""
    return {problem.pointer: problem.code for problem in problems(body)}


def number(text: str) -> Decimal:
    return Decimal(text)
