"""``recall``: every cylinder whose test stands on an instrument, a person or a lab in question."""

import datetime as dt
import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from cylinders.queries.recall import FIELDS, Suspect, affected, row
from cylinders.rules.sheet import as_csv


class Command(BaseCommand):
    help = "List the cylinders whose tests name an instrument, an operator or a lab in question."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--calibrated-cylinder", default="", metavar="SERIAL")
        parser.add_argument("--equipment", default="", help="of an eddy current examination")
        parser.add_argument("--operator", default="")
        parser.add_argument("--rin", default="", help="a lab's identification number")
        parser.add_argument("--from", dest="first", type=dt.date.fromisoformat, required=True)
        parser.add_argument("--to", dest="last", type=dt.date.fromisoformat, required=True)
        form = parser.add_mutually_exclusive_group()
        form.add_argument("--json", action="store_true")
        form.add_argument("--csv", action="store_true")

    def handle(self, *_: Any, **options: Any) -> None:
        names = ("calibrated_cylinder", "equipment", "operator", "rin")
        suspect = Suspect(**{name: options[name] for name in names})
        if options["last"] < options["first"]:
            raise CommandError("--to is before --from.")
        try:
            records = affected(suspect=suspect, first=options["first"], last=options["last"])
        except ValueError as wrong:
            raise CommandError(f"Nothing is asked for: {wrong}.") from wrong
        rows = [row(record) for record in records]
        if options["json"]:
            self.stdout.write(json.dumps({"items": rows}, ensure_ascii=False))
        elif options["csv"]:
            self.stdout.write(as_csv(FIELDS, rows), ending="")
        else:
            for line in rows:
                told = (line["tested_on"], line["cylinder"], line["lab_reference"], line["state"])
                self.stdout.write("  ".join((*told, line["owner"])))
            self.stdout.write(f"{len(rows)} record{'' if len(rows) == 1 else 's'}.")
