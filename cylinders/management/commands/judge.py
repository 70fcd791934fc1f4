"""``judge FILE``: judge one test record from its numbers, in words or as JSON.

Exit status: 0 passed, 1 anything else it came to, 2 the record could not be used.
"""

import datetime as dt
import json
import re
import sys
from argparse import ArgumentParser, ArgumentTypeError
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from cylinders.rules.judgement import (
    Judgement,
    Problem,
    UnusableBody,
    Verdict,
    as_json,
    judge,
    loads,
    parse,
)
from cylinders.rules.judgement.strict_json import LARGEST

ANSWERED_NO, UNUSABLE = 1, 2
_FIRST_YEAR, _LAST_YEAR = 1900, 2899


_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


def day(text: str) -> dt.date:
    """Read ``YYYY-MM-DD``, and no other of ISO's shapes."""
    try:
        found = dt.date.fromisoformat(text) if _DAY.fullmatch(text) else None
        if found and _FIRST_YEAR <= found.year <= _LAST_YEAR:
            return found
    except ValueError:
        pass
    raise ArgumentTypeError(f"{text!r} is no day; write YYYY-MM-DD")


def read(source: str) -> bytes:
    """The bytes of a file, or of standard input for ``-``; one more than is taken at most."""
    try:
        if source == "-":
            return sys.stdin.buffer.read(LARGEST + 1)
        with Path(source).open("rb") as file:
            return file.read(LARGEST + 1)
    except OSError as wrong:
        says = f"{source} cannot be read: {wrong.strerror}"
        raise UnusableBody([Problem("", "unreadable", says)]) from wrong


class Command(BaseCommand):
    requires_system_checks = ()  # it asks the rules alone, and is to answer at once
    help = "Judge a test record from its numbers, whatever verdict came with it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", help="a record as JSON; - reads standard input")
        parser.add_argument("--on", type=day, metavar="DAY", help="as known on that day")
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *_: Any, **options: Any) -> None:
        try:
            body = parse(loads(read(options["file"])))
        except UnusableBody as unusable:
            for problem in unusable.problems:
                self.stderr.write(str(problem))
            sys.exit(UNUSABLE)
        judged = judge(body, on=options["on"] or timezone.localdate())
        if options["json"]:
            self.stdout.write(json.dumps(as_json(judged), ensure_ascii=True))
        else:
            self.stdout.write(told(judged))
        if judged.verdict is not Verdict.PASSED:
            sys.exit(ANSWERED_NO)


def told(judged: Judgement) -> str:
    """The same for a person: the verdict, why, the figures, then each check with its clause."""
    figures = (
        ("permanent expansion", judged.percent_permanent, " % of total"),
        ("elastic expansion", judged.elastic_expansion, ""),
        ("required test pressure", judged.required_test_pressure, ""),
        ("next due", judged.next_due, ""),
    )
    lines = [f"{judged.verdict.upper()}  {judged.lab_reference}"]
    lines += [f"  {reason}" for reason in judged.reasons]
    lines += [f"{name}: {value}{unit}" for name, value, unit in figures if value is not None]
    lines += [
        f"[{check.outcome}] {check.code}: {check.says} ({check.cites})" for check in judged.checks
    ]
    return "\n".join(lines)
