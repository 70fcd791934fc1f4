"""Read a stamp from the first character to the last, one shape at a time.

Each place is tried once with one compiled expression; what no shape fits is one word, taken by
its position or left as unread. So the time is proportional to the length of the text.
"""

import datetime as dt
import re
from collections.abc import Callable

from cylinders.rules.markings import (
    findings,
    originals,
    receptacles,
    requalification,
    stamped_dates,
    words,
)
from cylinders.rules.markings.checks import check
from cylinders.rules.markings.comparing import compare
from cylinders.rules.markings.draft import Draft
from cylinders.rules.markings.finishing import finished
from cylinders.rules.markings.look_alikes import ask_about
from cylinders.rules.markings.normalising import normalise
from cylinders.rules.markings.patterns import DIGIT_FORMS, LETTER_FORMS, SKIP, UN_HINT
from cylinders.rules.markings.reading import Reading

_HANDLERS: dict[str | None, Callable[[Draft, re.Match[str]], int]] = {
    "original": originals.original,
    "single": originals.single_trip,
    "bare": originals.bare,
    "permit": originals.permit,
    "rows": requalification.in_rows,
    "split": requalification.split,
    "square": requalification.square,
    "four": requalification.in_a_row,
    "glued": requalification.glued,
    "day": stamped_dates.day,
    "full": stamped_dates.full,
    "late": stamped_dates.late,
    "pair": stamped_dates.pair,
    "letter": stamped_dates.letter,
    "inspected": stamped_dates.inspected,
    "swiss": stamped_dates.swiss,
    "standard": receptacles.standard,
    "pressure": receptacles.pressure,
    "measure": receptacles.measure,
    "volume": receptacles.volume,
    "life": receptacles.life,
    "approval": receptacles.approval,
    "maker": words.maker,
    "serial": words.labelled_serial,
    "condemned": findings.condemned,
    "crossed": findings.crossed,
    "repair": findings.repair,
    "ree": findings.ree,
    "thread": findings.thread,
    "metric": findings.thread,
    "alloy": findings.alloy,
    "temper": findings.temper,
}


def read(text: str, *, on: dt.date, country: str = "US") -> Reading:
    """Return what is stamped in ``text``, judged on the day ``on``.

    ``country`` (two letters) decides what a date without a RIN stands for. Any text is answered;
    nothing is raised. Sources: 49 CFR 178.35(f), 178.65(i), 178.71(q), 180.205(i)(2), 180.213
    (2019-10-01 edition); other conventions as cited in each warning.
    """
    clean = normalise(text)
    un_mode = UN_HINT.search(clean.text) is not None
    draft = Draft(text, clean, on=on, country=country.upper(), un_mode=un_mode)
    _scan(draft)
    originals.settle(draft)
    runs = draft.runs()
    marks = finished(draft)
    dual = compare(draft)
    unread = draft.places(runs) if runs else ()
    check(draft, marks, unread)
    if runs:
        ask_about(draft, runs)
    warnings, questions = tuple(draft.warnings), tuple(draft.questions)
    return Reading(text, on, draft.country, marks, dual, warnings, questions, unread)


def _scan(draft: Draft) -> None:
    """Walk through the folded text and gather in ``draft`` what stands there."""
    text = draft.text
    size = len(text)
    place = 0
    while (skipped := SKIP.match(text, place)) and (place := skipped.end()) < size:
        forms = DIGIT_FORMS if text[place] in "0123456789" else LETTER_FORMS
        found = forms.match(text, place)
        came_to = (found and _HANDLERS[found.lastgroup](draft, found)) or words.word(draft, place)
        # A reader that stood still would never end: what it cannot pass is left unread.
        place = came_to if came_to > place else draft.leave(place, place + 1)
