"""A bounded run of the state machine; the long ones by ``python -m tests.model``."""

import pytest

from tests.model import machine

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db(transaction=True)]

#: Two hundred examples in all, in parts so short that no process of a run is left alone with the
#: last one. By day one engine takes every second part and the other the rest; with `--long` each
#: takes all of them.
PARTS, EXAMPLES = 20, 10


@pytest.mark.sampled(of=2, in_turns=True)
@pytest.mark.parametrize("part", range(PARTS))
def test_the_service_does_what_the_model_says(part: int) -> None:
    machine.run(examples=EXAMPLES, steps=30, at_random=part)
