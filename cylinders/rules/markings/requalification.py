"""Requalification marks: month, RIN (in a square or in a row), year, symbol.

49 CFR 180.213(d): the RIN's four characters stand in a square and are read clockwise from the
upper left, so "A1" over "32" is A123.
"""

import re

from cylinders.rules.markings import sources
from cylinders.rules.markings.dates import RIN_FLOOR, month_of, year_of
from cylinders.rules.markings.draft import SERIAL, Draft
from cylinders.rules.markings.marks import STAR, RequalificationMark
from cylinders.rules.markings.originals import ask_serial_or
from cylinders.rules.month import Month
from cylinders.rules.symbols import find_symbol
from cylinders.rules.wording import say

_SYMBOL = re.compile(r"\u2605|[<(*]?STAR[>)*]?|\*{1,3}|\+|AE[ /]UE|UE[ /]AE|[A-Z]{1,2}")
_USUAL_RIN = re.compile(r"[A-Z][0-9]{3}")
_DIGIT_LIKE = str.maketrans("OQDILSZB", "00011528")
_TWO_DIGITS = 2


def symbols_of(written: str) -> tuple[str, ...]:
    """Return the symbols behind a date, the star in its one spelling.

    >>> symbols_of(" <STAR> +"), symbols_of("ue/ae".upper())
    (('star', '+'), ('UE/AE',))
    """
    if not written:
        return ()
    return tuple(
        STAR if found[0] in "\u2605*<(" or found.startswith("STAR") else found.replace(" ", "/")
        for found in _SYMBOL.findall(written)
    )


def joined(symbols: tuple[str, ...]) -> str | None:
    """Return several symbols as one text, ``None`` for none."""
    return "/".join(symbols) or None


def in_rows(draft: Draft, match: re.Match[str]) -> int:
    """Read "9 A1/32 06": the square as two rows beside each other or on two lines."""
    month, top, bottom, year, symbols = match.group(
        "rows_month", "rows_top", "rows_bottom", "rows_year", "rows_symbol"
    )
    return _add(draft, match, month, top + bottom[::-1], year, symbols)


def split(draft: Draft, match: re.Match[str]) -> int:
    """Read "9 A1 06" over "32": the lower row on the line below the date."""
    month, top, bottom, year, symbols = match.group(
        "split_month", "split_top", "split_bottom", "split_year", "split_symbol"
    )
    return _add(draft, match, month, top + bottom[::-1], year, symbols)


def square(draft: Draft, match: re.Match[str]) -> int:
    """Read "A1" over "9 06" over "32": the square across three lines."""
    month, top, bottom, year, symbols = match.group(
        "square_month", "square_top", "square_bottom", "square_year", "square_symbol"
    )
    return _add(draft, match, month, top + bottom[::-1], year, symbols)


def in_a_row(draft: Draft, match: re.Match[str]) -> int:
    """Read "9 A123 06": the four characters one after the other."""
    month, rin, year, symbols = match.group("four_month", "four_rin", "four_year", "four_symbol")
    return _add(draft, match, month, rin, year, symbols)


def glued(draft: Draft, match: re.Match[str]) -> int:
    """Read "9A12306"; where a serial number may stand it could be that, so it is asked."""
    if draft.awaits == SERIAL:
        return ask_serial_or(draft, match, say("requalification mark"))
    month, rin, year, symbols = match.group(
        "glued_month", "glued_rin", "glued_year", "glued_symbol"
    )
    return _add(draft, match, month, rin, year, symbols)


def _add(draft: Draft, match: re.Match[str], month: str, rin: str, year: str, written: str) -> int:
    """Add the mark, or leave it unread where its date cannot be."""
    number = int(month)
    full_year = year_of(year, on=draft.on, floor=RIN_FLOOR)
    if not 1 <= number <= 12:  # noqa: PLR2004 - months of a year
        _impossible(draft, match, month, year)
        return draft.leave(match.start(), match.end())
    symbols = symbols_of(written) if written else ()
    future = (full_year, number) > (draft.on.year, draft.on.month)
    read_rin = rin if _USUAL_RIN.fullmatch(rin) else _unusual(draft, rin)
    mark = RequalificationMark(Month(full_year, number), read_rin, joined(symbols), future)
    draft.marks.append(mark)
    draft.requalified = True
    draft.close()
    if future or full_year < RIN_FLOOR:
        _odd_date(draft, mark)
    for symbol in symbols:
        check_symbol(draft, symbol)
    return match.end()


def _odd_date(draft: Draft, mark: RequalificationMark) -> None:
    """Warn of a date that lies ahead, or before there were RINs."""
    if mark.future:
        draft.warn(
            "date_ahead",
            say(
                "Requalification {date} lies after {on}: it is refused", date=mark.date, on=draft.on
            ),
            sources.REQUALIFICATION_MARKS,
        )
    else:
        draft.warn(
            "date_implausible",
            say(
                "Requalification {date}: no RIN was stamped before {rin_floor}",
                date=mark.date,
                rin_floor=RIN_FLOOR,
            ),
            sources.CENTURY,
        )


def _impossible(draft: Draft, match: re.Match[str], month: str, year: str) -> None:
    """Say that the month cannot be; ask where month and year may have been swapped."""
    draft.warn(
        "impossible_date",
        say("{match}: there is no month {month}", match=match[0].strip(), month=month),
        sources.REQUALIFICATION_MARKS,
    )
    last = year[-_TWO_DIGITS:]
    swapped = month_of(last, year_of(month, on=draft.on, floor=RIN_FLOOR))
    if len(month) == _TWO_DIGITS and swapped:
        draft.ask(
            "date_order",
            say(
                "In {match} the first number is no month. Is the year stamped first?",
                match=match[0].strip(),
            ),
            f"{swapped}",
            "neither",
        )


def _unusual(draft: Draft, rin: str) -> str | None:
    """Say what is odd about a RIN; ``None`` where a character is missing."""
    if "?" in rin or "_" in rin:
        draft.warn(
            "rin_illegible",
            say("RIN {rin} has a character that cannot be read: find who made this test", rin=rin),
            sources.REQUALIFICATION_MARKS,
        )
        return None
    draft.warn(
        "rin_unusual",
        say("RIN {rin} is not a letter and three digits as in the regulation's example", rin=rin),
        sources.REQUALIFICATION_MARKS,
    )
    meant = rin[0] + rin[1:].translate(_DIGIT_LIKE)
    if meant != rin and _USUAL_RIN.fullmatch(meant):
        draft.ask("look_alike", say("Did you mean RIN {meant}?", meant=meant), meant, rin)
    return rin


def check_symbol(draft: Draft, symbol: str) -> None:
    """Warn of a symbol that means nothing, or that excludes use under water."""
    if symbol == "X":
        draft.warn(
            "placeholder_symbol",
            say(
                "X behind a date is only the placeholder of the regulation's drawing; a "
                "row of X over the mark condemns: look again"
            ),
            sources.REQUALIFICATION_MARKS,
        )
    elif symbol not in {"F", "AE/UE", "UE/AE"} and find_symbol(symbol) is None:
        draft.warn(
            "unknown_symbol",
            say("{symbol} behind a date is none of the symbols of 180.213(f)", symbol=symbol),
            sources.REQUALIFICATION_SYMBOLS,
        )
