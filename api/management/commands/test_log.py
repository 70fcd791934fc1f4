"""``test_log``: a lab's daily log, or the tests of one cylinder, in the regulation's fields."""

import datetime as dt
import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from api import test_logs
from api.test_logs import Log
from cylinders.models import Cylinder, Lab
from labels import codes
from labels.models import Tag


class Command(BaseCommand):
    help = "Print a lab's log of a day, or the tests of one cylinder (49 CFR 180.215(b))."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--rin", help="the lab's number; with --day")
        parser.add_argument("--day", type=dt.date.fromisoformat, help="YYYY-MM-DD")
        parser.add_argument("--cylinder", metavar="TAG", help="the code on a cylinder's tag")
        parser.add_argument("--serial", help="the serial on a cylinder, where one only bears it")
        form = parser.add_mutually_exclusive_group()
        form.add_argument("--json", action="store_true")
        form.add_argument("--csv", action="store_true")
        form.add_argument("--pdf", type=Path, metavar="FILE")

    def handle(self, *_: Any, **options: Any) -> None:
        log = _asked(options)
        if options["pdf"]:
            options["pdf"].write_bytes(log.as_pdf())
        elif options["csv"]:
            self.stdout.write(log.as_csv(), ending="")
        elif options["json"]:
            self.stdout.write(json.dumps({"title": log.title, "rows": log.rows}))
        else:
            self.stdout.write(log.title)
            for row in log.rows:
                told = ("date_of_requalification", "serial_number", "disposition", "state")
                self.stdout.write("  ".join((row["what"], *(row[name] for name in told))))
        if not log.rows:
            sys.exit(1)


def _asked(options: dict[str, Any]) -> Log:
    if options["rin"] and options["day"] and not (options["cylinder"] or options["serial"]):
        lab = Lab.objects.filter(rin=options["rin"]).first()
        if lab is None:
            raise CommandError(f"There is no lab of the number {options['rin']}.")
        return test_logs.of_day(lab, options["day"])
    if bool(options["cylinder"]) == bool(options["serial"]) or options["rin"] or options["day"]:
        raise CommandError("Give --rin and --day, or --cylinder, or --serial.")
    found = _by_tag(options["cylinder"]) if options["cylinder"] else _by_serial(options["serial"])
    if len(found) != 1:
        raise CommandError(f"{len(found)} cylinders are named so. Give the code on the tag.")
    return test_logs.of_cylinder(found[0])


def _by_tag(text: str) -> list[Cylinder]:
    read = codes.extract(text, {settings.TAG_HOST})
    if isinstance(read, codes.Refused):
        raise CommandError(str(read.says))
    tags = Tag.objects.filter(code=read.code, cylinder__isnull=False).select_related("cylinder")
    return [tag.cylinder for tag in tags if tag.cylinder]


def _by_serial(text: str) -> list[Cylinder]:
    return list(Cylinder.objects.filter(serial__iexact=text))
