"""``restore``: an archive into an empty place; nothing is sent from there until it is armed."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from api.backups import restoring
from cylinders.rules.refusal import Refused


class Command(BaseCommand):
    help = "Put an archive into this service's empty database and folder, and verify it."
    requires_system_checks = ()  # there is no database yet

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("archive", type=Path, help="what `backup` wrote")
        parser.add_argument(
            "--since", type=Path, metavar="FILE", help="the newest since.json, kept elsewhere"
        )
        parser.add_argument("--json", action="store_true", help="print the answer as JSON")

    def handle(self, *_: Any, **options: Any) -> None:
        say = (lambda _says: None) if options["json"] else self.stdout.write
        try:
            done = restoring.restore(
                options["archive"], newer=options["since"], at=timezone.now(), progress=say
            )
        except OSError as problem:
            raise CommandError(f"Not restored: {problem}", returncode=2) from problem
        except Refused as refused:
            raise CommandError(refused.says, returncode=2) from refused
        if options["json"]:
            answer = {
                "made_at": done.made_at,
                "events": done.events,
                "again": done.again,
                "problems": done.verified.problems,
                "armed": False,
            }
            self.stdout.write(json.dumps(answer))
        else:
            for said in done.verified.problems:
                self.stdout.write(said)
            again = ", ".join(f"{count} {name}" for name, count in done.again.items() if count)
            self.stdout.write(f"{done.events} events as of {done.made_at}.")
            self.stdout.write(f"Erased and revoked since, done anew: {again or 'nothing'}.")
            self.stdout.write("Nothing is sent from here until `manage.py arm`.")
        if done.verified.problems:
            sys.exit(1)
