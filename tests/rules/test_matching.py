from dataclasses import replace

import pytest

from cylinders.rules.matching import Match, PartFacts, TargetFacts, judge_part
from cylinders.rules.verdict import Certainty, Outcome

CYLINDER = TargetFacts(identity="C-1", name="3AL KX40417", neck_thread="3/4-14 NPSM", enriched=True)
VALVE = PartFacts(
    name="valve V-9",
    came_off="C-1",
    thread="3/4 NPSM",
    oxygen_clean=True,
    touches_gas=True,
)
BOOT = PartFacts(name="boot B-2", came_off="C-1")


@pytest.mark.parametrize("part", [VALVE, BOOT])
def test_a_part_goes_back_on_the_cylinder_it_came_off(part: PartFacts) -> None:
    verdict = judge_part(part, cylinder=CYLINDER)
    assert verdict.match is Match.MATCH
    assert verdict.may_be_fitted
    assert verdict.says == f"{part.name} fits 3AL KX40417."
    assert verdict.findings[0].cites.certainty is Certainty.COMMON_PRACTICE


@pytest.mark.parametrize(
    ("part", "match", "sentence"),
    [
        (None, Match.UNKNOWN, "nothing is known by this code"),
        (replace(VALVE, came_off=None), Match.UNKNOWN, "which cylinder valve V-9 came off"),
        (replace(VALVE, came_off="C-2"), Match.WRONG_CYLINDER, "another cylinder, not 3AL KX40417"),
        (replace(VALVE, retired=True), Match.RETIRED, "taken out of use"),
        (replace(VALVE, fitted_to="C-1"), Match.ALREADY_FITTED, "already on this cylinder"),
        (replace(VALVE, fitted_to="C-3"), Match.ALREADY_FITTED, "already on another cylinder"),
        (replace(VALVE, thread="M25x2"), Match.OTHER_THREAD, "neck 3/4-14 NPSM, valve M25x2"),
        (replace(VALVE, thread=""), Match.OTHER_THREAD, "valve thread 'not given'"),
        (replace(VALVE, oxygen_clean=False), Match.NOT_OXYGEN_CLEAN, "is not oxygen-clean"),
        (replace(VALVE, oxygen_clean=None), Match.NOT_OXYGEN_CLEAN, "not known to be oxygen-clean"),
    ],
)
def test_each_reason_stops_the_part_in_words(
    part: PartFacts | None, match: Match, sentence: str
) -> None:
    verdict = judge_part(part, cylinder=CYLINDER)
    assert verdict.match is match
    assert not verdict.may_be_fitted
    assert verdict.says.startswith("STOP: ")
    assert sentence in verdict.says


def test_what_is_not_known_is_unknown_and_not_a_failure() -> None:
    unknown = [
        judge_part(None, cylinder=CYLINDER),
        judge_part(replace(VALVE, came_off=None), cylinder=CYLINDER),
        judge_part(replace(VALVE, thread=""), cylinder=CYLINDER),
        judge_part(replace(VALVE, oxygen_clean=None), cylinder=CYLINDER),
    ]
    assert {verdict.findings[0].outcome for verdict in unknown} == {Outcome.UNKNOWN}


def test_every_reason_is_given_at_once_the_gravest_first() -> None:
    part = PartFacts(
        name="valve V-9",
        came_off="C-2",
        fitted_to="C-2",
        retired=True,
        thread="M25x2",
        oxygen_clean=False,
        touches_gas=True,
    )
    verdict = judge_part(part, cylinder=CYLINDER)
    assert [finding.code for finding in verdict.findings] == [
        "retired",
        "already_fitted",
        "wrong_cylinder",
        "other_thread",
        "not_oxygen_clean",
    ]
    assert verdict.match is Match.RETIRED


def test_a_dirty_valve_may_go_on_a_cylinder_for_air() -> None:
    air = replace(CYLINDER, enriched=False)
    assert judge_part(replace(VALVE, oxygen_clean=False), cylinder=air).may_be_fitted


def test_a_boot_need_not_be_oxygen_clean() -> None:
    assert judge_part(replace(BOOT, oxygen_clean=False), cylinder=CYLINDER).may_be_fitted


def test_a_neck_whose_thread_is_not_known_takes_no_valve() -> None:
    bare = replace(CYLINDER, neck_thread="")
    assert judge_part(VALVE, cylinder=bare).match is Match.OTHER_THREAD


def test_the_words_of_the_verdict_are_the_promised_ones() -> None:
    assert [match.value for match in Match] == [
        *("match", "wrong_cylinder", "unknown", "already_fitted", "retired"),
        *("other_thread", "not_oxygen_clean"),
    ]


def test_what_is_known_against_a_part_is_a_failure_and_a_match_is_ok() -> None:
    known = [
        replace(VALVE, came_off="C-2"),
        replace(VALVE, retired=True),
        replace(VALVE, fitted_to="C-3"),
        replace(VALVE, thread="M25x2"),
        replace(VALVE, oxygen_clean=False),
    ]
    for part in known:
        outcomes = {one.outcome for one in judge_part(part, cylinder=CYLINDER).findings}
        assert outcomes == {Outcome.FAIL}
    assert judge_part(VALVE, cylinder=CYLINDER).findings[0].outcome is Outcome.OK


def test_a_cylinder_is_for_air_unless_it_says_otherwise() -> None:
    plain = TargetFacts(identity="C-1", name="3AL", neck_thread="3/4-14 NPSM")
    assert judge_part(replace(VALVE, oxygen_clean=False), cylinder=plain).may_be_fitted
