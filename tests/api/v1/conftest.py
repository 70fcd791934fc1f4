"""The labs' tests: a day that stands still enough, and one lab with one cylinder in its hands."""

from collections.abc import Iterator

import pytest
import time_machine
from django.core.cache import cache

from tests import makers
from tests.api.v1.lab import LabClient, make_lab_client, order_at


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    """It is noon of the tests' day, and the clock goes on from there."""
    cache.clear()
    with time_machine.travel(makers.NOON, tick=True):
        yield


@pytest.fixture
def lab(db: None) -> LabClient:
    """A lab with a key and one cylinder in its hands, serial KX40417."""
    makers.technician_one()
    client = make_lab_client()
    order_at(client.lab)
    return client
