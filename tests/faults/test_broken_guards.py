"""Broken guards are noticed: some here, every one by ``python -m tests.faults.guards``."""

import pytest

from tests.faults.guards import GUARDS, caught

#: One of each way to break something, quick to run.
HERE = ("one open visit of a cylinder", "encoders")


def test_there_are_more_than_ten_and_each_can_be_broken() -> None:
    assert len({guard.name for guard in GUARDS}) == len(GUARDS) > 10
    for guard in GUARDS:
        assert bool(guard.where) != bool(guard.statement)
        assert guard.tests
        if guard.where:
            compile(guard.broken(), guard.where, "exec")


@pytest.mark.parametrize("name", HERE)
def test_a_broken_guard_is_caught(name: str) -> None:
    assert caught(next(guard for guard in GUARDS if guard.name == name))
