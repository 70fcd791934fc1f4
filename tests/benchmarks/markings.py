"""How long a stamp takes to read: against one regular expression, and against its length.

1. A full reading (typed fields, warnings, places of what is unread) costs at most ten times one
   ``fullmatch`` of one compiled expression that accepts the same stamps: every shape that is
   read, in any order, its parts kept by name.
2. Ten times the junk takes at most twelve times the time, for every shape of junk tried.
"""

import datetime as dt
import re
from collections.abc import Callable, Iterator

from cylinders.rules.markings import read
from cylinders.rules.markings.patterns import DIGIT_FORMS, LETTER_FORMS
from tests.benchmarks.runner import ROUNDS, Case, Result, Target, race

TODAY = dt.date(2026, 11, 25)
MOST_TIMES_FULLMATCH = 10.0
MOST_TIMES_LENGTH = 12.0

#: one expression for the language of stamps: every shape, in any order, with any separators, and
#: words that can be a serial number, a maker's symbol or a country; parts kept by name
_WORD = r"[A-Z0-9][A-Z0-9.-]{0,39}"
STAMP = re.compile(rf"(?:[ \n/,;|&-]*+(?:{DIGIT_FORMS.pattern}|{LETTER_FORMS.pattern}|{_WORD}))+")
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


def reader(*texts: str) -> Callable[[], object]:
    """Return an action that reads each of ``texts``."""
    return lambda: [read(text, on=TODAY) for text in texts]


def matcher(*texts: str) -> Callable[[], object]:
    """Return an action that matches each of ``texts`` in full."""
    unmatched = [text for text in texts if not STAMP.fullmatch(text)]
    if unmatched:
        raise ValueError(f"the floor does not accept {unmatched}")
    return lambda: [STAMP.fullmatch(text) for text in texts]


def against_fullmatch(rounds: int) -> Iterator[Result]:
    """What a reading costs in fullmatches of the same stamps."""
    texts = tuple(STAMPS.values())
    floor = "one fullmatch of one expression for all stamps"
    what = f"{len(texts)} stamps read to typed fields, warnings and places of what is unread"
    yield from race(
        {"ours": Case(reader(*texts)), floor: Case(matcher(*texts))},
        [Target("markings", "ours", floor, MOST_TIMES_FULLMATCH, what, by="cpu")],
        rounds=rounds,
    )


def against_length(rounds: int) -> Iterator[Result]:
    """How time grows with ten times the junk: the worst of all shapes stands for all."""
    floor = "a tenth of it"
    worst = None
    for name, piece in JUNK.items():
        short = piece * (2_000 // len(piece))
        what = f"20,000 signs of junk, the worst of {len(JUNK)} shapes: {name}"
        (result,) = race(
            {"long": Case(reader(short * 10)), floor: Case(reader(short))},
            [Target("markings_junk", "long", floor, MOST_TIMES_LENGTH, what, by="cpu")],
            rounds=rounds,
            slices=1,
        )
        if worst is None or (bool(result.noisy), result.ratio) > (bool(worst.noisy), worst.ratio):
            worst = result
    if worst is not None:
        yield worst


def run(rounds: int | None = None) -> Iterator[Result]:
    """Both targets of the reader."""
    yield from against_fullmatch(rounds or ROUNDS)
    yield from against_length(rounds or ROUNDS)
