"""``bench``: speed as ratios. The benchmarks stand with the tests; this starts them there."""

import subprocess
import sys
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand


class Command(BaseCommand):
    help = "Measure speed as ratios; leaves with 0 only where every target is met. See --help."

    def run_from_argv(self, argv: list[str]) -> None:
        """Hand every word after `bench` on: its options are not Django's to read."""
        if status := run(argv[2:]):
            sys.exit(status)

    def handle(self, *args: Any, **_: Any) -> None:
        if status := run(list(args)):
            sys.exit(status)


def run(words: list[str]) -> int:
    """Run the benchmarks in a process of their own and return its exit status."""
    command = [sys.executable, "-m", "tests.benchmarks", *words]
    return subprocess.run(command, check=False, cwd=settings.BASE_DIR).returncode
