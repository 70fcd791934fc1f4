"""Visual inspection: both, and by the standard for the metal."""

from typing import get_args

import pytest

from cylinders.rules.specifications import SPECIFICATIONS, find
from cylinders.rules.verdict import Outcome
from cylinders.rules.visual import Inspection, Result, judge, standard_for

RESULTS: tuple[Result, ...] = get_args(Result)


@pytest.mark.parametrize("internal", RESULTS)
@pytest.mark.parametrize("external", RESULTS)
def test_only_two_passes_pass(internal: Result, external: Result) -> None:
    finding = judge(Inspection(internal, external, "CGA C-6.1"), expected="CGA C-6.1")
    assert finding.code == "visual"
    assert finding.passed == (internal == external == "pass")
    failed = "fail" in (internal, external)
    assert (finding.outcome is Outcome.FAIL) == failed


def test_a_failure_is_told_with_its_place_and_the_notes() -> None:
    both = Inspection("fail", "fail", "CGA C-6", "line corrosion at the base")
    assert judge(both, expected=None).says == (
        "The internal and external visual inspection failed. line corrosion at the base"
    )
    one = Inspection("pass", "not_done", "CGA C-6")
    assert judge(one, expected=None).says.startswith("The external visual inspection was not done")


@pytest.mark.parametrize(
    ("written", "outcome"),
    [
        ("CGA C-6.1", Outcome.OK),
        ("c-6.1", Outcome.OK),
        ("C6.1", Outcome.OK),
        ("CGA C-6", Outcome.CAUTION),
        ("", Outcome.CAUTION),
    ],
)
def test_the_standard_is_compared_by_its_number(written: str, outcome: Outcome) -> None:
    assert judge(Inspection("pass", "pass", written), expected="CGA C-6.1").outcome is outcome


def test_without_an_expected_standard_none_is_missed() -> None:
    finding = judge(Inspection("pass", "pass", ""), expected=None)
    assert finding.outcome is Outcome.OK
    assert "a standard not named" in finding.says


@pytest.mark.parametrize(
    ("code", "standard"),
    [
        ("3AL", "CGA C-6.1"),
        ("3ALM", "CGA C-6.1"),
        ("3AA", "CGA C-6"),
        ("3BN", "CGA C-6"),
        ("3HT", "CGA C-8"),
        ("4E", "CGA C-6.3"),
        ("8AL", "CGA C-13"),
        ("SPECIAL_PERMIT", None),
    ],
)
def test_the_standard_for_a_specification(code: str, standard: str | None) -> None:
    assert standard_for(SPECIFICATIONS[code]) == standard


def test_an_unknown_specification_has_no_standard() -> None:
    assert standard_for(find("5Q")) is None
