"""What a person may settle on a held record, and what stays held until the lab sends another."""

import datetime as dt
from typing import Any

import pytest

from cylinders.rules import judgement
from cylinders.rules.judgement import KnownCylinder, LabStanding, Verdict
from cylinders.rules.judgement.by_hand import COMPARABLE, still_holding, verdict_by_hand
from tests import makers

ON = makers.TODAY


def judged(
    *, known: KnownCylinder | None = None, lab: LabStanding | None = None, **changes: Any
) -> tuple[judgement.Judgement, judgement.TestBody]:
    body = judgement.parse(makers.record_body(**changes))
    return judgement.judge(body, on=ON, lab=lab, known_cylinder=known), body


def test_a_contradiction_of_stamp_and_paper_can_be_settled_by_looking() -> None:
    found, body = judged(stamp={"month": 10, "year": 2026, "symbol": None})
    assert found.verdict is Verdict.HELD
    assert still_holding(found) == ()
    assert verdict_by_hand(found, body) is Verdict.PASSED


@pytest.mark.parametrize("said", ["rejected", "condemned"])
def test_the_labs_own_worse_disposition_counts(said: str) -> None:
    found, body = judged(disposition=said, reason="pits below the shoulder", stamp=None)
    assert found.verdict is Verdict.HELD
    assert verdict_by_hand(found, body) is Verdict(said)


def test_an_examination_that_is_not_known_cannot_be_compared_into_being() -> None:
    cylinder = makers.record_body()["cylinder"] | {"alloy": "6351-T6"}
    found, _body = judged(cylinder=cylinder)
    assert found.verdict is Verdict.HELD
    assert "eddy_current" in [finding.code for finding in still_holding(found)]


def test_a_number_that_was_not_in_force_cannot_be_compared_into_force() -> None:
    over = LabStanding(rin="Z999", valid_until=dt.date(2026, 11, 19))
    found, body = judged(lab=over, stamp={"month": 10, "year": 2026, "symbol": None})
    assert verdict_by_hand(found, body) is not Verdict.PASSED


def test_a_plus_that_is_not_proven_is_not_let_through() -> None:
    cylinder = makers.record_body()["cylinder"] | {"specification": "3AA", "alloy": None}
    found, _body = judged(cylinder=cylinder, stamp={"month": 11, "year": 2026, "symbol": "+"})
    assert "plus" in [finding.code for finding in still_holding(found)]


def test_what_can_be_compared_is_stamp_paper_and_cylinder_and_nothing_else() -> None:
    assert {"disposition", "stamp", "cylinder"} == COMPARABLE
