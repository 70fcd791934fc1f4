"""``lab_key``: give a lab its key, list a lab's keys, end one."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from api import keys
from api.models import LabKey
from cylinders.models import Lab
from cylinders.rules.refusal import Refused


class Command(BaseCommand):
    help = "Make a key for a lab (shown once), or --revoke one, or --list them."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("rin", help="the lab's identification number")
        parser.add_argument("--scope", action="append", choices=keys.ALL_SCOPES, help="default all")
        parser.add_argument("--revoke", metavar="PREFIX", help="end the key that begins so")
        parser.add_argument("--list", action="store_true", help="show the keys, without secrets")

    def handle(self, *_: Any, **options: Any) -> None:
        lab = Lab.objects.filter(rin=options["rin"]).first()
        if lab is None:
            raise CommandError(f"There is no lab with the number {options['rin']!r}.")
        try:
            self._do(lab, options)
        except Refused as refused:
            raise CommandError(refused.says) from refused

    def _do(self, lab: Lab, options: dict[str, Any]) -> None:
        now = timezone.now()
        if options["list"]:
            for key in LabKey.objects.filter(lab=lab).order_by("made_at", "pk"):
                self.stdout.write(_told(key))
        elif options["revoke"]:
            if not LabKey.objects.filter(lab=lab, prefix=options["revoke"]).exists():
                raise Refused("unknown_key", f"{lab} has no key {options['revoke']!r}.")
            keys.revoke(prefix=options["revoke"], at=now)
            self.stdout.write(f"The key {options['revoke']} of {lab} opens nothing any more.")
        else:
            issued = keys.issue(lab_id=lab.pk, at=now, scopes=options["scope"] or keys.ALL_SCOPES)
            self.stdout.write(f"The key of {lab}, good until {issued.key.expires_at:%Y-%m-%d}.")
            self.stdout.write("It is shown this once; hand it over by a safe way:")
            self.stdout.write(issued.text)


def _told(key: LabKey) -> str:
    ended = f"revoked {key.revoked_at:%Y-%m-%d}" if key.revoked_at else ""
    used = f"last used {key.last_used_at:%Y-%m-%d %H:%M}" if key.last_used_at else "never used"
    until = ended or f"until {key.expires_at:%Y-%m-%d}"
    return f"{key.prefix}  {until}  {used}  {' '.join(key.scopes)}"
