"""Eddy current: when it is asked for, and what a crack means."""

import datetime as dt
from decimal import Decimal
from typing import Literal

import pytest

from cylinders.rules.alloys import AlloyVerdict
from cylinders.rules.cylinder_facts import Service
from cylinders.rules.eddy_current import Examination, Need, judge, need
from cylinders.rules.verdict import Citation, Outcome

DAY = dt.date(2026, 11, 20)
SURE = AlloyVerdict(treat_as_6351=True, assumed=False, says="", cites=Citation("x"))
ASSUMED = AlloyVerdict(treat_as_6351=True, assumed=True, says="", cites=Citation("x"))
OTHER = AlloyVerdict(treat_as_6351=False, assumed=False, says="", cites=Citation("x"))


def exam(result: Literal["pass", "fail"], crack: str, *, equipment: str = "EC-1") -> Examination:
    return Examination(result, Decimal(crack), equipment, "ring 4")


@pytest.mark.parametrize(
    ("alloy", "service", "expected"),
    [
        (SURE, Service.SCUBA, Need.ASKED),
        (SURE, Service.SCBA, Need.ASKED),
        (SURE, Service.OXYGEN, Need.ASKED),
        (SURE, Service.FIRE, Need.NOT_ASKED),
        (SURE, Service.INDUSTRIAL, Need.NOT_ASKED),
        (ASSUMED, Service.SCUBA, Need.ASSUMED),
        (OTHER, Service.SCUBA, Need.NOT_ASKED),
    ],
)
def test_who_needs_it(alloy: AlloyVerdict, service: Service, expected: Need) -> None:
    assert need(alloy, service) is expected


@pytest.mark.parametrize(
    ("seen", "needed", "outcome"),
    [
        (None, Need.NOT_ASKED, Outcome.OK),
        (None, Need.ASKED, Outcome.UNKNOWN),
        (None, Need.ASSUMED, Outcome.UNKNOWN),
        (exam("pass", "0"), Need.ASKED, Outcome.OK),
        (exam("pass", "0"), Need.ASSUMED, Outcome.OK),
        (exam("pass", "0"), Need.NOT_ASKED, Outcome.CAUTION),
        (exam("pass", "0", equipment=""), Need.ASKED, Outcome.CAUTION),
        (exam("pass", "0.1"), Need.ASKED, Outcome.UNKNOWN),
        (exam("pass", "1.99"), Need.ASKED, Outcome.UNKNOWN),
        (exam("pass", "2"), Need.ASKED, Outcome.FAIL),
        (exam("fail", "2"), Need.NOT_ASKED, Outcome.FAIL),
        (exam("fail", "0"), Need.ASKED, Outcome.FAIL),
    ],
)
def test_what_it_means(seen: Examination | None, needed: Need, outcome: Outcome) -> None:
    finding = judge(seen, needed, on=DAY)
    assert (finding.code, finding.outcome) == ("eddy_current", outcome)


def test_an_assumed_alloy_is_told_as_assumed() -> None:
    assert judge(None, Need.ASSUMED, on=DAY).says.startswith("The alloy is not known")
    assert judge(None, Need.ASKED, on=DAY).says.startswith("It is 6351-T6")


def test_the_ring_is_recorded_too() -> None:
    without = Examination("pass", Decimal(0), "EC-1", "")
    finding = judge(without, Need.ASKED, on=DAY)
    assert finding.outcome is Outcome.CAUTION
    assert str(finding.cites) == "49 CFR part 180 appendix C (2019-10-01)"


def test_the_clause_and_the_words_of_a_need() -> None:
    assert str(judge(None, Need.ASKED, on=DAY).cites) == "49 CFR 180.209(m) (2019-10-01)"
    assert [str(need) for need in Need] == ["asked", "assumed", "not asked"]
