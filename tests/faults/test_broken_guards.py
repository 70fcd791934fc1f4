"""Broken guards are noticed: one every day, every one in the long run."""

import pytest

from tests.faults.guards import GUARDS, caught

HERE = "one open visit of a cylinder"
NAMES = [
    guard.name if guard.name == HERE else pytest.param(guard.name, marks=pytest.mark.long)
    for guard in GUARDS
]


def test_there_are_more_than_ten_and_each_can_be_broken() -> None:
    assert len({guard.name for guard in GUARDS}) == len(GUARDS) > 10
    for guard in GUARDS:
        assert bool(guard.where) != bool(guard.statement)
        assert guard.tests
        if guard.where:
            compile(guard.broken(), guard.where, "exec")


@pytest.mark.parametrize("name", NAMES)
def test_a_broken_guard_is_caught(name: str) -> None:
    assert caught(next(guard for guard in GUARDS if guard.name == name))
