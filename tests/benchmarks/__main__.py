"""``manage.py bench [NAME] [--json] [--rounds N] [--list]``: every target, as a ratio.

Leaves with 0 only where every target was judged and is met. With fewer rounds than are judged by
(``--rounds 3``) it shows figures while something is being tried, and calls nothing ok.
"""

import argparse
import json
import os
import sys
import time
import traceback
from collections.abc import Iterator
from importlib import import_module

from tests.benchmarks import ground, machine
from tests.benchmarks.runner import Result

#: name for the command, and the module of this package that has ``run``
BENCHES = {
    "markings": "markings",
    "labels": "label_speed",
    "scan": "scan_page",
    "history": "history_speed",
    "queue": "queue_speed",
    "scale": "scale",
    "load": "load",
    "uploads": "lab_upload",
    "reminders": "reminder_planning",
}


def main() -> int:
    """Run what was asked for, tell it, and say by the exit status whether all is in target."""
    asked = argparse.ArgumentParser(prog="manage.py bench", description=__doc__)
    asked.add_argument("name", nargs="*", choices=[*BENCHES, []], help="which; all without one")
    asked.add_argument("--json", action="store_true", help="one JSON document, for programs")
    asked.add_argument("--rounds", type=int, help="instead of each benchmark's own number")
    asked.add_argument("--list", action="store_true", help="only the names")
    asked.add_argument("--cylinders", default="100000", help="how many the benchmark `scale` has")
    given = asked.parse_args()
    if given.list:
        sys.stdout.write("\n".join(BENCHES) + "\n")
        return 0
    results = []
    os.environ["BENCH_CYLINDERS"] = given.cylinders
    table = sys.stderr if given.json else sys.stdout
    server = ground.settle()
    try:
        for result in _run(given.name or [*BENCHES], given.rounds):
            results.append(result)
            table.write(_line(result) + "\n")
            table.flush()
    finally:
        server.stop()
    if given.json:
        told = {result.name: result.as_dict() for result in results}
        sys.stdout.write(json.dumps(told, indent=2) + "\n")
    return 0 if results and all(result.ok for result in results) else 1


def _run(names: list[str], rounds: int | None) -> Iterator[Result]:
    for name in names:
        began = time.monotonic()
        module = import_module(f"tests.benchmarks.{BENCHES[name]}")
        try:
            yield from module.run(rounds)
        except Exception as problem:  # noqa: BLE001 - one that fails must not silence the others
            traceback.print_exc()
            yield Result(name, 0.0, 0.0, ok=False, rounds=0, floor="", what=f"failed: {problem!r}")
        took = time.monotonic() - began
        sys.stderr.write(f"  ({name}: {took:.0f} s, load {machine.load():.1f})\n")


def _line(result: Result) -> str:
    """One row of the table for people."""
    word = "noisy" if result.noisy else "ok" if result.ok else "MISSED"
    spread = f"[{result.low:g} .. {result.high:g}]" if result.high else ""
    cpu = f"cpu {result.cpu:g}" if result.cpu is not None else ""
    head = f"{word:6} {result.name:22} {result.ratio:8g} x, target {result.target:g} x"
    return f"{head:56} {spread:20} {cpu:10} {result.what}; floor: {result.floor} {result.noisy}"


if __name__ == "__main__":
    sys.exit(main())
