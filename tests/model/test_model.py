"""A bounded run of the state machine; the long ones by ``python -m tests.model``."""

import pytest

from tests.model import machine
from tests.settings import TEST_ENGINE

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db(transaction=True)]

#: A server answers more slowly than a file in this process.
EXAMPLES = {"sqlite": 25, "postgresql": 8}


def test_the_service_does_what_the_model_says() -> None:
    machine.run(examples=EXAMPLES[TEST_ENGINE], steps=30)
