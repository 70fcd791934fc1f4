"""``manage.py verify``: hold every row and tag against the hashed history."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from cylinders.queries import verification
from labels import scanning


class Command(BaseCommand):
    help = "Recompute every history and compare it with what is stored; exit 1 when it differs."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="print the answer as JSON")

    def handle(self, *_args: Any, **options: Any) -> None:
        found = verification.verify()
        # A history that cannot be told is reported above; its tags can then not be compared.
        problems = [*found.problems, *(scanning.tag_problems() if found.ok else ())]
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
