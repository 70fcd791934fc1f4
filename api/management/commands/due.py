"""``due``: what is due in the whole shop; ``due --stamp TEXT``: on a cylinder known by its stamp.

Exit status: 0 answered, 1 answered and it may not be filled, 2 the input could not be used (one
line a problem on standard error, nothing stored).
"""

import datetime as dt
import json
import re
import sys
from argparse import ArgumentParser
from collections.abc import Callable
from typing import Any, TypeVar

from django.core.management.base import BaseCommand
from django.utils import timezone

from api import due_list
from cylinders.rules.cylinder_facts import Service
from cylinders.rules.markings import read
from cylinders.rules.markings.usable import LONGEST
from cylinders.rules.month import Month
from cylinders.rules.stamp_due import Json, answer

ANSWERED_NO, UNUSABLE = 1, 2
WITHIN = 60
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_DAYS = re.compile(r"[0-9]{1,4}", re.ASCII)
_COUNTRY = re.compile(r"[A-Za-z]{2}", re.ASCII)
_FIRST_YEAR, _LAST_YEAR = 1950, 2900
_Read = TypeVar("_Read")


class Unusable(ValueError):
    """Raised for an option that cannot be used; says which and how it is written."""


class Command(BaseCommand):
    help = "Tell what is due in the shop; with --stamp, on one cylinder, and whether to fill it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--within", metavar="DAYS", help="of the shop's list; 60 unless told")
        parser.add_argument("--stamp", metavar="TEXT", help="the marks; - reads standard input")
        parser.add_argument("--service", default="scuba", help=", ".join(Service))
        parser.add_argument("--alloy", help="such as 6061-T6, where it is known")
        parser.add_argument("--country", default="US", metavar="CC", help="where it is filled")
        parser.add_argument("--last-visual", metavar="YYYY-MM", help="last internal visual")
        parser.add_argument("--on", metavar="DAY", help="as of that day, YYYY-MM-DD")
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *_: Any, **options: Any) -> None:
        if options["stamp"] is None:
            self.shop(**options)
            return
        told = self.stamp(**options)
        self.stdout.write(
            json.dumps(told, ensure_ascii=True) if options["json"] else in_words(told)
        )
        if not told["fill"]["allowed"]:
            sys.exit(ANSWERED_NO)

    def stamp(self, **options: Any) -> Json:
        """Answer for one stamp; leaves with status 2 where an option cannot be used."""
        problems: list[str] = []
        on = _take(problems, day, options["on"]) or timezone.localdate()
        service = _take(problems, service_named, options["service"]) or Service.SCUBA
        country = _take(problems, country_named, options["country"]) or ""
        visual = _take(problems, month, options["last_visual"])
        if visual and visual > Month.of(on):
            problems.append(f"--last-visual {visual} lies after {on}")
        text = sys.stdin.read(LONGEST + 1) if options["stamp"] == "-" else options["stamp"]
        reading = read(text[:LONGEST], on=on, country=country)
        if len(text) > LONGEST:
            problems.append(f"--stamp: the text is longer than {LONGEST} characters")
        elif not reading.marks:
            problems.append("--stamp: no mark of a cylinder was found in the text")
        self._unusable(problems)
        return answer(reading, service=service, alloy=options["alloy"], last_visual=visual)

    def shop(self, **options: Any) -> None:
        """The list over the whole shop."""
        problems: list[str] = []
        on = _take(problems, day, options["on"]) or timezone.localdate()
        within = _take(problems, days, options["within"])
        self._unusable(problems)
        told = due_list.listed(on=on, within_days=WITHIN if within is None else within)
        self.stdout.write(json.dumps(told) if options["json"] else due_list.in_words(told))

    def _unusable(self, problems: list[str]) -> None:
        for problem in problems:
            self.stderr.write(problem)
        if problems:
            sys.exit(UNUSABLE)


def _take(problems: list[str], reader: Callable[[str], _Read], text: str | None) -> _Read | None:
    """What ``reader`` makes of an option; a problem is kept, so that all are told at once."""
    if text is None:
        return None
    try:
        return reader(text)
    except Unusable as unusable:
        problems.append(str(unusable))
        return None


def day(text: str) -> dt.date:
    """Read ``YYYY-MM-DD`` of a year that a cylinder can be asked about."""
    try:
        found = dt.date.fromisoformat(text) if _DAY.fullmatch(text) else None
    except ValueError:
        found = None
    if found is None or not _FIRST_YEAR <= found.year <= _LAST_YEAR:
        raise Unusable(f"--on {text[:40]!r} is no day; write YYYY-MM-DD")
    return found


def days(text: str) -> int:
    """Read a whole number of days, 0 to 9999."""
    if not _DAYS.fullmatch(text):
        raise Unusable(f"--within {text[:40]!r} is no number of days; write 0 to 9999")
    return int(text)


def month(text: str) -> Month:
    """Read ``YYYY-MM``."""
    try:
        return Month.parse(text)
    except ValueError:
        raise Unusable(f"--last-visual {text[:40]!r} is no month; write YYYY-MM") from None


def service_named(text: str) -> Service:
    """Read a service by its name."""
    try:
        return Service(text)
    except ValueError:
        says = f"--service {text[:40]!r} is not known; use one of {', '.join(Service)}"
        raise Unusable(says) from None


def country_named(text: str) -> str:
    """Read a two-letter country code."""
    if not _COUNTRY.fullmatch(text):
        raise Unusable(f"--country {text[:40]!r} is no country; write two letters such as US")
    return text.upper()


def in_words(told: Json) -> str:
    """The same for a person: may it be filled, why not, then each duty with its source."""
    fill = told["fill"]
    top = fill["max_pressure"]
    height = f" at most {top['value']} {top['unit']}" if top else ""
    lines = [f"MAY BE FILLED,{height}" if fill["allowed"] else "DO NOT FILL"]
    lines += [f"  {one['says']} ({one['cites']})" for one in (*fill["reasons"], *fill["notes"])]
    lines += [f"[{one['state']}] {one['says']} ({one['cites']})" for one in told["items"]]
    lines += [f"warning: {one['says']} ({one['cites']})" for one in told["warnings"]]
    lines += [f"question: {one['says']}: {' / '.join(one['choices'])}" for one in told["questions"]]
    lines += [f"not read: {text!r}" for text in told["unread"]]
    return "\n".join(lines)
