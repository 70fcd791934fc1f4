"""The desk that every test of the bench sits at, on one fixed day."""

from collections.abc import Iterator

import pytest
import time_machine

from tests import makers
from tests.api.pages.bench.desk import Desk


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    """It is noon on the day of the tests' cast."""
    with time_machine.travel(makers.NOON, tick=False):
        yield


@pytest.fixture
def desk(db: None) -> Desk:
    """Tessa, signed in."""
    return Desk()
