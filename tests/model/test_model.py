"""A bounded run of the state machine; the long ones by ``python -m tests.model``."""

import pytest

from tests.model import machine

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db(transaction=True)]


def test_the_service_does_what_the_model_says() -> None:
    machine.run(examples=25, steps=30)
