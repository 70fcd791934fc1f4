"""``backup``: everything into one archive, while people go on working."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from api.backups import taking
from cylinders.rules.refusal import Refused


class Command(BaseCommand):
    help = "Copy database, files and keys into one archive. Keep it away from this machine."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("target", type=Path, help="a new file, or a folder for one by the time")
        parser.add_argument(
            "--with-secret-key",
            action="store_true",
            help="SECRET_KEY too; keep such an archive as you keep the key",
        )
        parser.add_argument("--json", action="store_true", help="print the answer as JSON")

    def handle(self, *_: Any, **options: Any) -> None:
        at = timezone.now()
        target: Path = options["target"]
        if target.is_dir():
            target /= f"cylinders-{at:%Y%m%dT%H%M%SZ}.zip"
        say = (lambda _says: None) if options["json"] else self.stdout.write
        try:
            found = taking.take(
                target, at=at, with_secret_key=options["with_secret_key"], progress=say
            )
        except OSError as problem:
            raise CommandError(f"Nothing was kept: {problem}", returncode=2) from problem
        except Refused as refused:
            raise CommandError(refused.says, returncode=2) from refused
        if options["json"]:
            answer = {"archive": str(target), "bytes": target.stat().st_size, **found.as_dict()}
            self.stdout.write(json.dumps(answer))
            return
        rows = sum(found.tables.values())
        self.stdout.write(f"{target}: {found.events} events, {rows} rows.")
