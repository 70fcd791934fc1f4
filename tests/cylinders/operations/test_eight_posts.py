"""Eight posts about one cylinder: results, corrections and voids, in whatever order they come."""

import random
from collections.abc import Iterator
from itertools import permutations
from typing import Any

import pytest
from django.db import transaction

from cylinders.models import Lab, WorkOrder
from cylinders.queries.verification import verify
from tests import makers
from tests.cylinders.operations import test_amendment as posted
from tests.cylinders.operations.test_amendment import Step

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

SOME, MANY = 10, 2_000
OCTOBER: dict[str, Any] = {
    "date": "2026-10-20",
    "stamp": {"month": 10, "year": 2026, "symbol": None},
    "calibration": makers.record_body()["calibration"] | {"date": "2026-10-20"},
}
STATES = {
    "R1": "superseded",
    "C2": "attached",
    "C3": "voided",
    "R4": "voided",
    "C5": "attached",
    "R6": "attached",
}


def steps(lab: Lab, order: WorkOrder) -> list[Step]:
    """Two tests that were corrected, one correction and one result taken back, a third test."""
    return [
        lambda: posted.record(lab, order, "R1"),
        lambda: posted.correct(lab, order, "C2", "R1", hold_seconds=33),
        lambda: posted.correct(lab, order, "C3", "C2", hold_seconds=34),
        lambda: posted.void(lab, "C3"),
        lambda: posted.record(lab, order, "R4", **posted.SEPTEMBER),
        lambda: posted.correct(lab, order, "C5", "R4", **posted.SEPTEMBER, hold_seconds=35),
        lambda: posted.void(lab, "R4"),
        lambda: posted.record(lab, order, "R6", **OCTOBER),
    ]


def ends(order: WorkOrder, arrivals: tuple[Step, ...]) -> dict[str, Any]:
    """How it ends in this order; nothing of it is kept."""
    with transaction.atomic():
        for step in arrivals:
            step()
        found = posted.ends(order) | {"problems": verify().problems}
        transaction.set_rollback(True)
    return found


def drawn(meant: list[Step], count: int) -> Iterator[tuple[Step, ...]]:
    """So many of the 40,320 orders, none twice."""
    yield from random.Random(1).sample(list(permutations(meant)), count)


def all_end_alike(count: int) -> None:
    makers.technician_one()
    lab = makers.make_lab()
    order = posted.at_lab(lab)
    meant = steps(lab, order)
    expected = ends(order, tuple(meant))
    assert expected["states"] == STATES
    assert expected["problems"] == ()
    assert expected["requalified"] == ("2026-11", "", "in_service")
    other = [arrivals for arrivals in drawn(meant, count) if ends(order, arrivals) != expected]
    assert not other, [[meant.index(step) for step in arrivals] for arrivals in other[:3]]


def test_some_orders_of_eight_posts_end_alike() -> None:
    all_end_alike(SOME)


@pytest.mark.long
def test_two_thousand_orders_of_eight_posts_end_alike() -> None:
    all_end_alike(MANY)
