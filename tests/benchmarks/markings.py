"""How long a stamp takes to read: against one regular expression, and against its length.

Run from the project's folder: ``python -m tests.benchmarks.markings``. Prints two tables of
ratios and ends with status 1 where a target is missed.

1. A full reading (typed fields, warnings, places of what is unread) costs at most ten times one
   ``fullmatch`` of one compiled expression that accepts the same stamps: every shape that is
   read, in any order, its parts kept by name. Beside it stands, without a target, the ratio to an
   expression that accepts only these few stamps in this one order.
2. Ten times the junk takes at most twelve times the time, for every shape of junk tried.

Processor time is counted, so that a busy machine does not decide; both sides of a ratio are run
in turn for about as long, and the figure is the median of the rounds.
"""

import datetime as dt
import gc
import re
import statistics
import sys
import time
from collections.abc import Callable

from cylinders.rules.markings import read
from cylinders.rules.markings.patterns import DIGIT_FORMS, LETTER_FORMS

TODAY = dt.date(2026, 11, 25)
ROUNDS = 15
MOST_TIMES_FULLMATCH = 10.0
MOST_TIMES_LENGTH = 12.0

#: one expression for the language of stamps: every shape, in any order, with any separators, and
#: words that can be a serial number, a maker's symbol or a country; parts kept by name
_WORD = r"[A-Z0-9][A-Z0-9.-]{0,39}"
STAMP = re.compile(rf"(?:[ \n/,;|&-]*+(?:{DIGIT_FORMS.pattern}|{LETTER_FORMS.pattern}|{_WORD}))+")
_TEST = r"(?:0?[1-9]|1[0-2]) (?:[A-Z][0-9])/(?:[0-9]{2}) (?:[0-9]{2})(?: ?(?:\+|FS|AE|UE|VE|S|E))?"
#: the stamps below and their like, in one order
FIXED = re.compile(
    r"(?:DOT|ICC|TC|CTC)-(?P<spec>3AAX|3AX|3ALM|3AAM|3AL|3AA|3A|3HT)(?P<pressure>[0-9]{2,5})\+?"
    r"(?: / (?P<second>DOT|TC)-(?P<other>3AL|3AA|3ALM)(?P<pressure_2>[0-9]{2,5}))?"
    r"(?:\n(?P<serial>[A-Z0-9]{1,20}))?(?:\n(?P<maker>[A-Z]{1,4}|M[0-9]{4}))?"
    r"(?:[ \n](?P<first>(?:[A-Z]{1,4} )?[0-9]{1,2}[A-Z-][0-9]{2}\+?))?"
    rf"(?P<tests>(?:\n{_TEST})*)"
    r"|DOT-(?:SP|E)(?P<permit>[0-9]{3,5})-(?P<permit_pressure>[0-9]{2,5})"
    rf"|(?P<test>{_TEST})"
    r"|(?P<thread>[0-9]{2}E) (?P<country>[A-Z]{1,3}) (?P<number>[A-Z0-9]+)(?P<h> H)?\n"
    r"PH(?P<ph>[0-9]+)BAR (?P<mass>[0-9.]+)KG (?P<wall>[0-9.]+)MM PW(?P<pw>[0-9]+)BAR"
    r" (?P<litres>[0-9.]+)L\nUN (?P<standard>ISO [0-9]+(?:-[0-9]+)?) (?P<approval>[A-Z]+/[A-Z0-9]+)"
    r" (?P<inspector>[A-Z]+) (?P<inspected>[0-9]{4}/[0-9]{2})"
)
STAMPS = {
    "one specification": "DOT-3AL3000",
    "dual": "TC-3ALM207 / DOT-3AL3000",
    "permit": "DOT-SP99999-3442",
    "first stamp, four lines": "DOT-3A1800\n1234\nXY\nAB 5-95",
    "one requalification": "5 A1/32 21",
    "stamp and two tests": "DOT-3AA2250\nZ12345\nM9999 07C08\n5 A1/32 16+\n5 A1/32 21",
    "UN, three lines": (
        "25E USA 123456 H\nPH300BAR 14.2KG 5.2MM PW200BAR 12.0L\nUN ISO 9809-1 USA/M9999 AB 2021/06"
    ),
}
JUNK = {
    "words": "LOREM IPSUM 123 DOLOR ",
    "one character": "X",
    "digits": "1",
    "blanks": " ",
    "hyphens": "-",
    "slashes and digits": "1/",
    "spec heads": "DOT-",
    "half requalifications": "5 A1/32 ",
    "lines": "A1\n9\n",
    "dots": "D.O.T.",
    "marks in full": "DOT-3AL3000 ",
    "tests in full": "5 A1/32 21 ",
    "other scripts": "\u0414\u0663\u00bd ",
    "invisible": "\u200b1",
    "stars": "\u2605*+",
    "questions": "03-05 ",
}


def seconds(action: Callable[[], object], repeats: int) -> float:
    """Return the processor time of one ``action``, from ``repeats`` in a row."""
    begun = time.process_time()
    for _ in range(repeats):
        action()
    return (time.process_time() - begun) / repeats


def ratio(
    numerator: tuple[Callable[[], object], int], denominator: tuple[Callable[[], object], int]
) -> tuple[float, float, float]:
    """Return the median ratio and both median times; each side is an action and its repeats."""
    ratios, above, below = [], [], []
    for turn in range(ROUNDS):
        gc.collect()
        if turn % 2:
            over, under = seconds(*numerator), seconds(*denominator)
        else:
            under, over = seconds(*denominator), seconds(*numerator)
        ratios.append(over / under)
        above.append(over)
        below.append(under)
    return statistics.median(ratios), statistics.median(above), statistics.median(below)


def say(line: str) -> None:
    """Print one line at once, so that a slow run shows how far it is."""
    print(line, flush=True)  # noqa: T201 - a command answers on its standard output


def reader(*texts: str) -> Callable[[], object]:
    """Return an action that reads each of ``texts``."""
    return lambda: [read(text, on=TODAY) for text in texts]


def matcher(expression: re.Pattern[str], *texts: str) -> Callable[[], object]:
    """Return an action that matches each of ``texts`` in full."""
    return lambda: [expression.fullmatch(text) for text in texts]


def against_fullmatch() -> bool:
    """Print what a reading costs in fullmatches of the same stamp; whether it is in target."""
    say(f"full reading / one fullmatch of the same stamp (target {MOST_TIMES_FULLMATCH:g})")
    cases: dict[str, tuple[str, ...]] = {name: (text,) for name, text in STAMPS.items()}
    cases["all of them"] = tuple(STAMPS.values())
    found = 0.0
    for name, texts in cases.items():
        reading = (reader(*texts), 60)
        found, slow, floor = ratio(reading, (matcher(STAMP, *texts), 200))
        fixed, _, _ = ratio(reading, (matcher(FIXED, *texts), 1_000))
        say(
            f"  {name:26}{slow * 1e6:8.1f} us {floor * 1e6:8.2f} us {found:6.1f} x"
            f"   (one order only: {fixed:.0f} x)"
        )
    return found <= MOST_TIMES_FULLMATCH


def against_length() -> bool:
    """Print how time grows with ten times the junk; whether every shape is in target."""
    say(f"ten times the junk (target {MOST_TIMES_LENGTH:g})")
    kept = True
    for name, piece in JUNK.items():
        short = piece * (2_000 // len(piece))
        found, slow, quick = ratio((reader(short * 10), 2), (reader(short), 20))
        say(f"  {name:26}{slow * 1e3:8.2f} ms {quick * 1e3:8.3f} ms {found:6.1f} x")
        kept = kept and found <= MOST_TIMES_LENGTH
    return kept


if __name__ == "__main__":
    for expression in (STAMP, FIXED):
        unmatched = [name for name, text in STAMPS.items() if not expression.fullmatch(text)]
        if unmatched:
            sys.exit(f"an expression does not accept: {', '.join(unmatched)}")
    sys.exit(0 if all([against_fullmatch(), against_length()]) else 1)
