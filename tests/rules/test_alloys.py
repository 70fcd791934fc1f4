import pytest

from cylinders.rules.alloys import judge_alloy
from cylinders.rules.cylinder_facts import CylinderFacts
from cylinders.rules.verdict import Certainty
from tests.rules.cast import month


def made(date: str | None, *, abroad: bool | None, spec: str = "3AL") -> CylinderFacts:
    first = month(date) if date else None
    return CylinderFacts(specification=spec, first_test=first, made_outside_us=abroad)


@pytest.mark.parametrize(
    ("alloy", "bad"),
    [("6351-T6", True), ("AA 6351", True), ("\uff16\uff13\uff15\uff11", True), ("6061-T6", False)],
)
def test_the_alloy_entered_decides(alloy: str, bad: bool) -> None:  # noqa: FBT001 - a table row
    verdict = judge_alloy(CylinderFacts(specification="3AL", alloy=alloy))
    assert verdict.treat_as_6351 is bad
    assert not verdict.assumed
    assert verdict.says == f"Alloy {alloy}."


@pytest.mark.parametrize("alloy", ["", "unknown", "?", "T6", "63512", None])
def test_an_entry_that_names_no_alloy_decides_nothing(alloy: str | None) -> None:
    verdict = judge_alloy(CylinderFacts(specification="3AL", alloy=alloy, first_test=None))
    assert verdict.treat_as_6351
    assert verdict.assumed


@pytest.mark.parametrize(
    ("date", "abroad", "bad"),
    [
        ("1990-01", False, True),
        ("1990-02", False, False),
        ("1990-02", None, True),
        ("1990-02", True, True),
        ("2005-09", True, True),
        ("2005-09", None, True),
        ("2005-10", True, False),
        ("2005-10", None, False),
        ("1985-06", None, True),
        (None, False, True),
    ],
)
def test_without_an_alloy_date_and_place_decide_until_shown_otherwise(
    date: str | None,
    abroad: bool | None,  # noqa: FBT001 - a table row
    bad: bool,  # noqa: FBT001 - a table row
) -> None:
    verdict = judge_alloy(made(date, abroad=abroad))
    assert verdict.treat_as_6351 is bad
    assert verdict.assumed
    assert ("until shown otherwise" in verdict.says) is bad


@pytest.mark.parametrize(
    ("date", "abroad", "sentence"),
    [
        (None, None, "Alloy and date of manufacture are not known."),
        ("1988-05", True, "Made outside the US in 1988-05, alloy not known."),
        ("1988-05", None, "Made 1988-05, before February 1990, alloy not known."),
        ("1990-02", None, "Made 1990-02; alloy and country of manufacture are not known."),
        ("1995-05", None, "Made 1995-05; alloy and country of manufacture are not known."),
        ("1995-05", False, "Made in the US in 1995-05, after its makers had left 6351-T6."),
        ("2008-06", None, "Made 2008-06: a 3AL of that date is 6061-T6."),
    ],
)
def test_the_sentence_says_why(
    date: str | None,
    abroad: bool | None,  # noqa: FBT001 - a table row
    sentence: str,
) -> None:
    assert sentence in judge_alloy(made(date, abroad=abroad)).says


def test_each_verdict_names_its_source() -> None:
    assert str(judge_alloy(made("1988-05", abroad=None)).cites) == (
        "US DOT Notice 94-7, safety advisory (1994) [second-hand]"
    )
    assert str(judge_alloy(made("2008-06", abroad=None)).cites) == (
        "49 CFR 178.46(b)(4) (2005-10-01)"
    )
    assert str(judge_alloy(CylinderFacts(specification="3AA")).cites) == (
        "49 CFR 180.209(m) (2019-10-01)"
    )


def test_the_advisory_is_cited_as_second_hand() -> None:
    assert judge_alloy(made("1988-05", abroad=None)).cites.certainty is Certainty.SECOND_HAND


@pytest.mark.parametrize("spec", ["3AA", "SPECIAL_PERMIT", None])
def test_other_specifications_are_outside_the_rule(spec: str | None) -> None:
    verdict = judge_alloy(CylinderFacts(specification=spec))
    assert not verdict.treat_as_6351
    assert not verdict.assumed


def test_the_metric_canadian_twin_is_judged_like_a_3al() -> None:
    assert judge_alloy(made("1985-01", abroad=None, spec="3ALM")).treat_as_6351
