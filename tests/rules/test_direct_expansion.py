"""Direct expansion: the compression of water is taken off, against passing."""

from decimal import Decimal
from fractions import Fraction

import pytest

from cylinders.rules.direct_expansion import (
    RATIO_BOUND,
    Span,
    Water,
    check,
    density_ratio,
    in_range,
    internal_expansion,
    possible,
)
from cylinders.rules.quantity import Quantity, cc, psi
from cylinders.rules.verdict import Outcome

TWENTY = Quantity(Decimal(20), "C")
LITRES = Quantity(Decimal("11.1"), "L")
PUMPED = Water(cc("237.64"), TWENTY)


def test_the_true_expansion_lies_in_the_span() -> None:
    span = internal_expansion(PUMPED, LITRES, psi(5000))
    assert span.low < Fraction("67.17") < span.high
    assert span.high - span.low < 3
    assert str(span) == "66.0 to 68.3 cc"


def test_the_span_is_what_the_bound_on_the_density_makes_of_it() -> None:
    ratio = density_ratio(TWENTY, psi(5000))
    middle = (PUMPED.forced_in.base - LITRES.base * (ratio - 1)) / ratio
    span = internal_expansion(PUMPED, LITRES, psi(5000))
    assert span.low < middle < span.high
    assert abs((span.low + span.high) / 2 - middle) < LITRES.base * RATIO_BOUND / 100


@pytest.mark.parametrize(
    ("total", "outcome"),
    [
        ("67.2", Outcome.OK),
        ("65.0", Outcome.CAUTION),
        ("72.0", Outcome.CAUTION),
        ("60.0", Outcome.FAIL),
        ("75.0", Outcome.FAIL),
        ("237.6", Outcome.FAIL),
    ],
)
def test_a_stated_total_must_follow_from_the_water(total: str, outcome: Outcome) -> None:
    finding = check(cc(total), PUMPED, LITRES, psi(5000))
    assert (finding.code, finding.outcome) == ("plausible", outcome)


@pytest.mark.parametrize(
    ("water", "capacity", "pressure"),
    [
        (None, LITRES, psi(5000)),
        (PUMPED, None, psi(5000)),
        (Water(cc("237.64"), Quantity(Decimal(51), "C")), LITRES, psi(5000)),
        (Water(cc("237.64"), Quantity(Decimal("-0.1"), "C")), LITRES, psi(5000)),
        (PUMPED, LITRES, psi(29_008)),
        (PUMPED, LITRES, psi(-1)),
    ],
)
def test_what_cannot_be_followed_is_unknown(
    water: Water | None, capacity: Quantity | None, pressure: Quantity
) -> None:
    assert check(cc("67"), water, capacity, pressure).outcome is Outcome.UNKNOWN


def test_the_ends_of_the_range_are_in_it() -> None:
    for celsius in (0, 50):
        assert in_range(Water(cc("1"), Quantity(Decimal(celsius), "C")), psi(0))


def test_no_more_can_have_stayed_than_went_in() -> None:
    assert possible(cc("237.7"), PUMPED).outcome is Outcome.FAIL
    assert possible(cc("237.64"), PUMPED).outcome is Outcome.OK
    assert possible(cc("237.7"), None).outcome is Outcome.OK


def test_a_span_is_rounded_outward() -> None:
    assert str(Span(Fraction("1.19"), Fraction("1.21"))) == "1.1 to 1.3 cc"
