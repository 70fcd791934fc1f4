"""``witness``: keep a checkpoint of another machine's history, if it goes on from the last one."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from api import checkpoints, witness
from cylinders.rules.refusal import Refused


class Command(BaseCommand):
    help = "Take a checkpoint that goes on from the one kept here; refuse and keep any other."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("checkpoint", type=Path, help="the file that `checkpoint` printed")
        parser.add_argument("--kept", type=Path, required=True, help="where the last one is kept")
        parser.add_argument(
            "--keys", type=Path, required=True, help="the file that `checkpoint --keys` printed"
        )

    def handle(self, *_: Any, **options: Any) -> None:
        try:
            keys = witness.keys_of(json.loads(options["keys"].read_text()))
            sheet = checkpoints.load(options["checkpoint"].read_text())
        except (OSError, ValueError, KeyError, TypeError, Refused) as problem:
            raise CommandError(f"That cannot be read: {problem}", returncode=2) from problem
        try:
            seen = witness.see(sheet, kept=options["kept"], keys=keys)
        except Refused as refused:
            raise CommandError(refused.says, returncode=1) from refused
        self.stdout.write(f"Kept: {seen.size} events of {seen.origin}, as of {seen.at}.")
