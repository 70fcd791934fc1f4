"""Plus: five specifications, and never by a rejection value of our own making."""

from dataclasses import replace
from fractions import Fraction

import pytest

from cylinders.rules.elasticity import STEEL, expansion_at
from cylinders.rules.quantity import Quantity, cc, psi
from cylinders.rules.specifications import SPECIFICATIONS
from cylinders.rules.verdict import Outcome
from cylinders.rules.wall_stress import PLUS_LIMITS, Stretch, plus, row_for

CAPACITY = cc(12541)


def stretch(elastic: str, ree: str | None = None, capacity: Quantity | None = CAPACITY) -> Stretch:
    return Stretch(Fraction(elastic), capacity, psi(4000), cc(ree) if ree else None)


def outcome(code: str, seen: Stretch | None, *, jacket: bool = True, old: bool = False) -> Outcome:
    finding = plus(SPECIFICATIONS[code], seen, water_jacket=jacket, before_1920=old)
    assert finding.code == "plus"
    return finding.outcome


@pytest.mark.parametrize("code", ["3A", "3AX", "3AA", "3AAX", "3T"])
def test_each_of_the_five_has_a_row(code: str) -> None:
    assert SPECIFICATIONS[code].plus_allowed
    assert row_for(code, before_1920=False) is not None


def test_the_table_allows_a_plus_to_no_other() -> None:
    listed = {code for row in PLUS_LIMITS for code in row.specifications}
    assert listed == {code for code, spec in SPECIFICATIONS.items() if spec.plus_allowed}


@pytest.mark.parametrize("code", ["3AL", "3HT", "4BA", "3ALM", "3AAM", "SPECIAL_PERMIT"])
def test_no_plus_on_others(code: str) -> None:
    assert outcome(code, stretch("56.0", ree="66.3")) is Outcome.FAIL


@pytest.mark.parametrize(
    ("seen", "expected"),
    [
        (stretch("56.0", ree="66.3"), Outcome.OK),
        (stretch("66.3", ree="66.3"), Outcome.OK),
        (stretch("66.4", ree="66.3"), Outcome.FAIL),
        (stretch("56.0"), Outcome.CAUTION),
        (stretch("65.0"), Outcome.UNKNOWN),
        (stretch("70.0"), Outcome.FAIL),
        (stretch("56.0", capacity=None), Outcome.UNKNOWN),
        (None, Outcome.FAIL),
    ],
)
def test_by_the_stamped_value_else_by_an_estimate(seen: Stretch | None, expected: Outcome) -> None:
    assert outcome("3AA", seen) is expected


def test_only_the_water_jacket_counts() -> None:
    assert outcome("3AA", stretch("56.0", ree="66.3"), jacket=False) is Outcome.FAIL


def test_steel_of_before_1920_has_lower_limits() -> None:
    assert outcome("3A", stretch("47.0")) is Outcome.CAUTION
    assert outcome("3A", stretch("47.0"), old=True) is Outcome.FAIL
    assert row_for("3AA", before_1920=True) == row_for("3AA", before_1920=False)


def test_the_estimate_is_rounded_against_the_plus() -> None:
    finding = plus(SPECIFICATIONS["3AA"], stretch("56.0"), water_jacket=True, before_1920=False)
    assert "between 55909 and 58647 psi; the limit is 67000 psi" in finding.says


def test_exactly_at_the_limit_is_within_it() -> None:
    """EE at which the estimate meets 67 000 psi with the smallest and the largest K."""
    for k, expected in ((STEEL.k_low, Outcome.CAUTION), (STEEL.k_high, Outcome.UNKNOWN)):
        at_limit = expansion_at(Fraction(67_000), psi(4000), k) * CAPACITY.base
        assert outcome("3AA", stretch(str(at_limit))) is expected


def test_a_specification_needs_both_the_permission_and_a_row() -> None:
    allowed = replace(SPECIFICATIONS["3AL"], plus_allowed=True)
    forbidden = replace(SPECIFICATIONS["3AA"], plus_allowed=False)
    for spec in (allowed, forbidden):
        found = plus(spec, stretch("56.0", ree="66.3"), water_jacket=True, before_1920=False)
        assert found.outcome is Outcome.FAIL


@pytest.mark.parametrize(("code", "average"), [("3A", 45_000), ("3AX", 45_000), ("3AA", 67_000)])
def test_which_steels_had_a_lower_limit_before_1920(code: str, average: int) -> None:
    row = row_for(code, before_1920=True)
    assert row is not None
    assert row.average == average
