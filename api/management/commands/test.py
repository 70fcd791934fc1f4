"""``test``: the whole suite on SQLite, then what must hold on both engines on a real PostgreSQL."""

import os
import secrets
import subprocess
import sys
import time
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

ENGINES = (("sqlite", "SQLite, all tests"), ("postgresql", "PostgreSQL, tests marked both_engines"))
#: words that say how much of the whole suite runs; with any other one the caller sees to the rest
EXTENT = frozenset({"--long", "--every-case"})
NOTHING_CHOSEN = 5  # pytest's exit status where no test was left to run
#: more would only wait for one another: the slowest file sets the pace
MOST_PROCESSES = 8
SAYS = {0: "passed", 1: "FAILED", 2: "STOPPED", NOTHING_CHOSEN: "no test chosen"}


class Command(BaseCommand):
    help = "Run the tests with pytest on SQLite and PostgreSQL; further words go to pytest."

    def run_from_argv(self, argv: list[str]) -> None:
        """Hand every word after `test` to pytest: its options are not Django's to read."""
        status = self.run_all(argv[2:])
        if status:
            sys.exit(status)

    def handle(self, *args: Any, **_: Any) -> None:
        if status := self.run_all(list(args)):
            sys.exit(status)

    def run_all(self, words: list[str]) -> int:
        """Run pytest once for each engine, say how each went, and return the worst exit status."""
        lines: list[str] = []
        worst = 0
        for engine, title in ENGINES:
            self.say(f"\n{title}")
            began = time.monotonic()
            status = run(engine, words)
            said = SAYS.get(status, f"ended with status {status}")
            lines.append(f"{title}: {said} ({time.monotonic() - began:.0f} s)")
            if status == NOTHING_CHOSEN and words:
                status = 0  # a choice of tests need not hold one for each engine
            worst = max(worst, status)
        self.say("\n" + "\n".join(lines))
        return worst

    def say(self, text: str) -> None:
        """Print before pytest's own process goes on printing."""
        self.stdout.write(text)
        self.stdout.flush()


def run(engine: str, words: list[str]) -> int:
    """Run pytest in a process of its own, with the engine in its environment."""
    env = {name: value for name, value in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"}
    env["TEST_ENGINE"] = engine
    # All processes of a run must meet the tests in one order, and another run in another one.
    env.setdefault("PYTHONHASHSEED", str(secrets.randbelow(2**32)))
    command = [sys.executable, "-m", "pytest", *words]
    if EXTENT.issuperset(words):
        command += on_every_core()
    return subprocess.run(command, check=False, cwd=settings.BASE_DIR, env=env).returncode


def on_every_core() -> list[str]:
    """What makes pytest take every core, in its own order: what empties the tables comes last.

    Much is waited for, servers and browsers above all, so there is half a process more to a core.
    Each gets one test after the other: the last and longest ones do not queue behind one another.
    """
    only = getattr(os, "sched_getaffinity", None)
    cores = len(only(0)) if only else os.cpu_count() or 1
    if cores == 1:
        return []
    processes = min(cores + cores // 2, MOST_PROCESSES)
    return ["-n", str(processes), "--dist", "load", "--maxschedchunk", "1"]
