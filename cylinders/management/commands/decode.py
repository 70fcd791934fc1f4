"""``decode TEXT``: what is stamped on a cylinder, in words or as JSON.

Exit status: 0 answered, 1 answered and the cylinder is condemned, 2 the input could not be used
(one line a problem on standard error). Text that is not understood is an answer: it is listed.
"""

import datetime as dt
import json
import re
import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from cylinders.rules.countries import COUNTRIES, row
from cylinders.rules.markings import as_json, read
from cylinders.rules.markings.telling import in_words
from cylinders.rules.markings.usable import LONGEST, problems_of

CONDEMNED, UNUSABLE = 1, 2
_DAY = re.compile(r"(?:19|20|21)[0-9]{2}-[0-9]{2}-[0-9]{2}", re.ASCII)
#: bytes of the longest text, at four for each character, and one more to see that it is longer
_MOST_BYTES = 4 * LONGEST + 4


class Command(BaseCommand):
    requires_system_checks = ()  # it asks the rules alone, and is to answer at once
    help = "Read what is stamped on a cylinder; what has two readings is asked, not guessed."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("text", metavar="TEXT", help="the stamp; - reads standard input")
        parser.add_argument("--on", metavar="DAY", help="as of that day, YYYY-MM-DD")
        parser.add_argument(
            "--country", default="US", metavar="CC", help=f"whose stamps: {known()}"
        )
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *_: Any, **options: Any) -> None:
        problems: list[str] = []
        text = typed(options["text"], problems)
        on = day(options["on"], problems)
        if row(options["country"]) is None:
            problems.append(f"--country {options['country'][:40]!r} is not known; {known()}")
        if problems:
            for problem in problems:
                self.stderr.write(problem)
            sys.exit(UNUSABLE)
        reading = read(text, on=on, country=options["country"])
        if options["json"]:
            self.stdout.write(json.dumps(as_json(reading), ensure_ascii=True))
        else:
            self.stdout.write(in_words(reading))
        if reading.condemned:
            sys.exit(CONDEMNED)


def known() -> str:
    """The countries whose stamps are known, as an option says them."""
    return "write one of " + ", ".join(f"{one.country} ({one.name})" for one in COUNTRIES)


def typed(source: str, problems: list[str]) -> str:
    """Return the text that was given, or standard input for ``-``; add what is wrong with it."""
    text = source
    if source == "-":
        try:
            text = sys.stdin.buffer.read(_MOST_BYTES).decode("utf-8")
        except UnicodeDecodeError as wrong:
            problems.append(f"standard input is not UTF-8 text: byte {wrong.start + 1} is none")
            return ""
    problems += problems_of(text)
    return text


def day(written: str | None, problems: list[str]) -> dt.date:
    """Return the day that was asked for, today for none; add what is wrong with it."""
    today = timezone.localdate()
    if written is None:
        return today
    try:
        if _DAY.fullmatch(written):
            return dt.date.fromisoformat(written)
    except ValueError:
        pass
    problems.append(f"--on {written[:40]!r} is no day; write YYYY-MM-DD")
    return today
