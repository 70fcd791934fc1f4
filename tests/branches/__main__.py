"""How many branches the tests take, held against what was promised: python -m tests.branches.

Runs the daily suite (or the tests that are named behind it), sampled cases and all, on both
engines, prints what was not taken, and fails below the figures. What only a process of its own
runs, such as a server under `kill`, is not counted.
"""

import os
import subprocess
import sys
from dataclasses import dataclass

NOTHING_CHOSEN = 5  # no test of the choice is for this engine


@dataclass(frozen=True, slots=True)
class Gate:
    """The least share of lines and branches, in percent, that the files must reach."""

    name: str
    files: str
    least: int


GATES = (
    Gate("history", "cylinders/history.py,cylinders/chain.py", 100),
    Gate("codes", "labels/codes/*", 100),
    Gate("idempotency", "api/v1/idempotency.py", 100),
    Gate("reminders", "cylinders/operations/reminders/*", 100),
    Gate("rules", "cylinders/rules/*", 100),
    Gate("all", "cylinders/*,labels/*,api/*", 90),
)


def report(gate: Gate) -> bool:
    """Print what one gate lacks; whether it holds."""
    sys.stdout.write(f"\n{gate.name}: at least {gate.least} %\n")
    sys.stdout.flush()
    words = ["report", "--skip-covered", "--show-missing", f"--include={gate.files}"]
    ran = subprocess.run(
        [sys.executable, "-m", "coverage", *words, f"--fail-under={gate.least}"], check=False
    )
    return ran.returncode == 0


def main(chosen: list[str]) -> int:
    """Run the tests, then each gate; the exit status."""
    words = ["-q", "--every-case", "--cov", "--cov-append", "--cov-report="]
    words += chosen or ["-n", "auto", "--dist", "load"]
    subprocess.run([sys.executable, "-m", "coverage", "erase"], check=True)
    worst = 0
    for engine in ("sqlite", "postgresql"):
        env = os.environ | {"TEST_ENGINE": engine, "REQUIRE_SERVERS": "1", "PYTHONHASHSEED": "7"}
        command = [sys.executable, "-m", "pytest", *words]
        ended = subprocess.run(command, env=env, check=False).returncode
        worst = max(worst, 0 if ended == NOTHING_CHOSEN else ended)
    held = [report(gate) for gate in GATES]
    return worst or int(not all(held))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
