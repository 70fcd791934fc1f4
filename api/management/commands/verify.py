"""``manage.py verify``: hold every row and tag against the hashed history."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from api import checkpoints, guards, verifying
from cylinders.rules.refusal import Refused


class Command(BaseCommand):
    help = "Recompute every history and compare it with what is stored; exit 1 when it differs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="print the answer as JSON")
        parser.add_argument(
            "--checkpoint",
            metavar="FILE",
            type=Path,
            help="hold the history against a checkpoint that was kept elsewhere, too",
        )
        parser.add_argument(
            "--chains",
            action="store_true",
            help="only the chains, in one pass over the events: for every night of a large house",
        )
        parser.add_argument(
            "--set-guards",
            action="store_true",
            help="first set the triggers that are missing and keep the history from being changed",
        )

    def handle(self, *_args: Any, **options: Any) -> None:
        if options["set_guards"]:
            for name in guards.set_again():
                self.stderr.write(f"Set again: {name}")
        found = verifying.chains() if options["chains"] else verifying.everything()
        problems = list(found.problems)
        if options["checkpoint"]:
            problems += against(options["checkpoint"])
        if options["json"]:
            answer = {
                "ok": not problems,
                "cylinders": found.cylinders,
                "events": found.events,
                "problems": problems,
            }
            self.stdout.write(json.dumps(answer, indent=2))
        else:
            for problem in problems:
                self.stdout.write(problem)
            verdict = "nothing altered" if not problems else f"{len(problems)} problems"
            self.stdout.write(f"{found.cylinders} cylinders, {found.events} events: {verdict}.")
        if problems:
            raise SystemExit(1)


def against(path: Path) -> list[str]:
    """What the history no longer has of the checkpoint in a file; exit 2 where it is none."""
    try:
        return checkpoints.problems(checkpoints.check(checkpoints.load(path.read_text()).text))
    except (OSError, UnicodeError, Refused) as problem:
        raise CommandError(str(problem), returncode=2) from problem
