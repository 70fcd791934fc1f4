"""``checkpoint``: sign what stands for the whole history, for somebody elsewhere to keep."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.mail import send_mail
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from api import checkpoints, signing_keys
from cylinders.models import Shop
from cylinders.rules.refusal import Refused


class Command(BaseCommand):
    help = "Sign a checkpoint of the history. Keep it elsewhere; `verify --checkpoint` asks it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--since", metavar="FILE", type=Path, help="prove that it goes on from this older one"
        )
        parser.add_argument("--mail", action="store_true", help="send it to the shop's address too")
        parser.add_argument(
            "--keys", action="store_true", help="print the public keys for a witness instead"
        )

    def handle(self, *_: Any, **options: Any) -> None:
        if options["keys"]:
            self.stdout.write(json.dumps(signing_keys.public(), indent=1))
            return
        now = timezone.now()
        try:
            old = options["since"]
            since = checkpoints.check(checkpoints.load(old.read_text()).text) if old else None
            sheet = checkpoints.make(at=now, since=since)
        except (OSError, UnicodeError) as problem:
            raise CommandError(str(problem), returncode=2) from problem
        except Refused as refused:
            differs = refused.code == "history_differs"
            raise CommandError(refused.says, returncode=1 if differs else 2) from refused
        self.stdout.write(sheet.dump())
        if options["mail"]:
            self.send(sheet.dump())

    def send(self, text: str) -> None:
        """Mail it to the shop; exit 2 where there is no address."""
        shop = Shop.objects.first()
        if shop is None or not shop.email:
            raise CommandError("The shop has no mail address. Enter it at /admin/.", returncode=2)
        says = "Keep this mail. `manage.py verify --checkpoint FILE` holds the history against it."
        send_mail("Checkpoint of the history", f"{says}\n\n{text}\n", None, [shop.email])
        self.stderr.write(f"Sent to {shop.email}.")
