"""The long sizes: python -m tests.model --examples 2000 --steps 50 [--seed 7]."""

import argparse
import logging
import os
import sys
import time
from collections import Counter

import django


def main() -> None:
    words = argparse.ArgumentParser(prog="python -m tests.model")
    words.add_argument("--examples", type=int, default=200)
    words.add_argument("--steps", type=int, default=30)
    words.add_argument("--seed", type=int, help="draw at random from here; else always the same")
    chosen = words.parse_args()
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    django.setup()

    from django.test.utils import (  # noqa: PLC0415 - Django is set up above
        setup_databases,
        setup_test_environment,
        teardown_databases,
        teardown_test_environment,
    )

    from tests.model import ground, machine  # noqa: PLC0415 - the same

    logging.disable(logging.CRITICAL)  # thousands of pages are opened
    setup_test_environment(debug=False)
    databases = setup_databases(verbosity=0, interactive=False)
    began = time.monotonic()
    try:
        machine.run(examples=chosen.examples, steps=chosen.steps, at_random=chosen.seed)
    finally:
        report(ground.DONE, time.monotonic() - began)
        teardown_databases(databases, verbosity=0)
        teardown_test_environment()


def report(done: Counter[str], seconds: float) -> None:
    """How often each operation was accepted and refused, so that an idle one is seen."""
    for name, count in sorted(done.items()):
        sys.stdout.write(f"{count:8} {name}\n")
    sys.stdout.write(f"{sum(done.values())} operations in {seconds:.0f} s\n")


if __name__ == "__main__":
    main()
