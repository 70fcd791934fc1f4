"""What the rules are told of a stored cylinder: what was read counts, unknown stays unknown."""

import pytest

from cylinders.models import Cylinder
from cylinders.queries.known import facts_of
from tests import makers

pytestmark = pytest.mark.django_db


def stored(decoded: list[dict[str, object]], **changes: str) -> Cylinder:
    cylinder = makers.cylinder_of(makers.receive(**changes))  # type: ignore[arg-type]  # markings
    cylinder.decoded = {"marks": decoded}
    return cylinder


def test_nothing_that_is_not_known_is_filled_in() -> None:
    facts = facts_of(stored([], alloy="", neck_thread="", requalified="", first_test=""))
    assert facts.alloy is None
    assert facts.first_test is None
    assert facts.requalifications == ()
    assert facts.underwater_mark is None
    assert facts.not_refillable is False


@pytest.mark.parametrize(
    ("refillable", "forbidden"),
    [([False], True), ([None], False), ([None, False], True), ([], False)],
)
def test_one_mark_that_forbids_a_refill_is_enough(
    refillable: list[bool | None], *, forbidden: bool
) -> None:
    marks: list[dict[str, object]] = [{"refillable": one} for one in refillable]
    assert facts_of(stored(marks)).not_refillable is forbidden


def test_the_plus_after_the_first_test_stands_on_it() -> None:
    facts = facts_of(stored([], requalified="", requalified_symbol="+", first_test="2024-03"))
    assert [(str(one.month), one.symbol) for one in facts.requalifications] == [("2024-03", "+")]


def test_the_country_is_the_shops() -> None:
    assert facts_of(stored([])).country == "US"
    assert facts_of(stored([]), country="DE").country == "DE"
