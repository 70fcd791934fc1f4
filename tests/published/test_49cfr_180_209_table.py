"""49 CFR 180.209(a) Table 1, 2019-10-01 edition (last column: copy of about December 2020)."""

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest

from cylinders.rules.specifications import SPECIFICATIONS, Interval, PressureRule

DAY = dt.date(2026, 11, 25)
FIVE_THIRDS, TWO = Fraction(5, 3), Fraction(2)


@pytest.mark.parametrize(
    ("codes", "factor", "years"),
    [
        (("3A", "3AA"), FIVE_THIRDS, {5, 10, 12}),
        (("3AL",), FIVE_THIRDS, {5, 12}),
        (("3AX", "3AAX"), FIVE_THIRDS, {5}),
        (("3B", "3BN"), TWO, {5, 10}),
        (("3HT",), FIVE_THIRDS, {3}),
        (("3T",), FIVE_THIRDS, {5}),
        (("4AA480",), TWO, {5, 10}),
        (("4D", "4DA", "4DS"), TWO, {5}),
    ],
)
def test_factor_and_periods(codes: tuple[str, ...], factor: Fraction, years: set[int]) -> None:
    for code in codes:
        row = SPECIFICATIONS[code]
        assert row.factor == factor
        assert {interval.years for interval in row.intervals_on(DAY)} == years


def test_rows_without_a_factor() -> None:
    assert SPECIFICATIONS["3"].fixed_test is not None
    assert str(SPECIFICATIONS["3"].fixed_test) == "3000 psi"
    assert SPECIFICATIONS["3E"].test is PressureRule.NOT_REQUIRED
    assert SPECIFICATIONS["4L"].test is PressureRule.NOT_REQUIRED
    assert SPECIFICATIONS["8"].test is PressureRule.OTHER
    assert SPECIFICATIONS["SPECIAL_PERMIT"].test is PressureRule.PERMIT


def test_180_205_i_1_limits_of_permanent_expansion() -> None:
    """(iv) 10 % of total for DOT specifications, (vi) 12 % for 4E."""
    for code in ("3A", "3AA", "3AL", "3HT", "4B", "4DS"):
        assert SPECIFICATIONS[code].permanent_limit_percent == Decimal(10)
    assert SPECIFICATIONS["4E"].permanent_limit_percent == Decimal(12)


def test_85_fr_68790_the_4_series_in_non_corrosive_service() -> None:
    """In force 2020-11-30: twelve years, after a proof test twelve and then ten."""
    old = SPECIFICATIONS["4BA"].intervals_on(dt.date(2020, 11, 29))
    new = SPECIFICATIONS["4BA"].intervals_on(dt.date(2020, 11, 30))
    assert [r.years for r in old if r.basis is Interval.NON_CORROSIVE] == [10]
    assert [
        (r.method, r.first_years, r.years) for r in new if r.basis is Interval.NON_CORROSIVE
    ] == [("volumetric", None, 12), ("proof", 12, 10)]
