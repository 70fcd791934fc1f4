"""All rules and all invariants in one machine, and how it is run."""

from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.model.checks import Checks


class Service(Checks):
    """The whole service."""


def run(*, examples: int, steps: int, at_random: int | None = None) -> None:
    """Run the machine; always the same way, or from the seed ``at_random``.

    Raises what failed, with the steps that led to it.
    """
    chosen = settings(
        max_examples=examples,
        stateful_step_count=steps,
        derandomize=at_random is None,
        database=None,
        deadline=None,
        print_blob=True,
        phases=(Phase.generate, Phase.shrink),
        suppress_health_check=list(HealthCheck),
    )
    machine = Service if at_random is None else seed(at_random)(Service)
    run_state_machine_as_test(machine, settings=chosen)
