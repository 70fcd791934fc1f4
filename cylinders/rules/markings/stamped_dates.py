"""Dates that stand without a RIN: first test, UN inspection, export, German next-due."""

import re

from cylinders.rules.markings import first_test, sources
from cylinders.rules.markings.dates import (
    NEXT_DUE_ROLES,
    US_ORDER,
    VISUAL_CH,
    Candidate,
    candidates,
    month_of,
    role_of,
    three_part_choices,
    year_of,
)
from cylinders.rules.markings.draft import Draft
from cylinders.rules.markings.marks import DateMark, MegcMark
from cylinders.rules.markings.reading import ORIGINAL_TEST
from cylinders.rules.markings.requalification import check_symbol, joined, symbols_of
from cylinders.rules.month import Month
from cylinders.rules.wording import say

UN_INITIAL = say("UN initial inspection")
_NO_INSPECTOR = frozenset(
    {"UN", "H", "UW", "NRC", "RCP", "DATE", "TEST", "MFG", "BORN", "EXP", "DUE", "NEXT", "LAST"}
)
_FULL_YEAR, _SHORT_YEAR, _BOTH_FULL = 4, 2, 4


def _impossible(draft: Draft, match: re.Match[str]) -> int:
    """Say that a date cannot be, and leave it unread."""
    draft.warn(
        "impossible_date",
        say("{match} is no month and year", match=match[0].strip()),
        sources.ORIGINAL_MARKS,
    )
    return draft.leave(match.start(), match.end())


def _alone(
    draft: Draft,
    month: Month,
    order: str,
    symbols: tuple[str, ...],
    *,
    role: str | None,
    inspector: str | None = None,
    letter: str | None = None,
) -> None:
    """Add a date that belongs to no other mark, and what there is to say of it."""
    ahead = first_test.ahead(draft, month)
    written = joined(symbols)
    draft.marks.append(DateMark(month, order, role, (), written, inspector, letter, ahead))
    for symbol in symbols:
        check_symbol(draft, symbol)
    if role in {ORIGINAL_TEST, UN_INITIAL}:
        first_test.contest(draft, str(month))
    _role_and_day(draft, month, role, ahead=ahead)


def _role_and_day(draft: Draft, month: Month, role: str | None, *, ahead: bool) -> None:
    """Ask what a lone date stands for where that is open; warn where it lies ahead."""
    if role is None:
        draft.ask(
            "date_role",
            say(
                "What does {month} stand for? Germany stamps the next due date, others the "
                "last test",
                month=month,
            ),
            say("last test"),
            say("next due date"),
            ORIGINAL_TEST,
        )
    if ahead and role not in NEXT_DUE_ROLES:
        draft.warn(
            "date_ahead",
            say("{month} lies after {on}", month=month, on=draft.on),
            sources.DATE_ORDER,
        )


def pair(draft: Draft, match: re.Match[str]) -> int:
    """Read two short numbers: "5-95", "13/7", "03-05", "24/03 F"."""
    first, by, second, written = match.group("pair_first", "pair_by", "pair_second", "pair_symbol")
    if by == "." and len(first + second) < _BOTH_FULL:
        return 0  # a decimal number
    symbols = symbols_of(written)
    us_stamp = draft.date_open and bool(draft.pending) and draft.country in US_ORDER
    if us_stamp and len(second) == _SHORT_YEAR:
        month = month_of(first, year_of(second, on=draft.on, floor=first_test.floor(draft)))
        if month is not None:
            first_test.take(draft, month, symbols)
            return match.end()
    found = candidates(first, by, second, on=draft.on, country=draft.country)
    if "F" in symbols:
        found = [one for one in found if one.year_first]
    if not found:
        return _impossible(draft, match)
    first_test.claim(draft, match.start(), *(one.month for one in found))
    if len(found) == 1 and found[0].coming is not None:
        _ask_century(draft, match, found[0], found[0].coming, joined(symbols))
    elif len(found) == 1:
        role = role_of(found[0], draft.country)
        _alone(draft, found[0].month, found[0].order, symbols, role=role)
    else:
        _ask_order(draft, match, found, joined(symbols))
    return match.end()


def _ask_order(
    draft: Draft, match: re.Match[str], found: list[Candidate], symbol: str | None
) -> None:
    """Add a date of open order and ask for it."""
    choices = tuple(one.choice for one in found)
    draft.marks.append(DateMark(None, "", candidates=choices, symbol=symbol))
    draft.ask(
        "date_order",
        say("Which month is {match}? Two conventions differ", match=match[0].strip()),
        *choices,
    )


def _ask_century(
    draft: Draft, match: re.Match[str], found: Candidate, coming: Month, symbol: str | None
) -> None:
    """Add a date of open century and ask for it."""
    choices = (str(found.month), str(coming))
    draft.marks.append(DateMark(None, found.order, candidates=choices, symbol=symbol))
    draft.ask("century", say("In which century is {match}?", match=match[0].strip()), *choices)


def full(draft: Draft, match: re.Match[str]) -> int:
    """Read "2006/04": a year of four digits, then the month."""
    year, by, number, written = match.group("full_year", "full_by", "full_month", "full_symbol")
    month = month_of(number, int(year))
    if month is None:
        return _impossible(draft, match)
    symbols = symbols_of(written)
    container = {"AE/UE", "UE/AE"}.intersection(symbols)
    if container:
        draft.marks.append(MegcMark(month, container.pop(), first_test.ahead(draft, month)))
    elif draft.date_open:
        first_test.take(draft, month, symbols)
    else:
        first_test.claim(draft, match.start(), month)
        order = f"YYYY{by}{'M' * len(number)}"
        _alone(draft, month, order, symbols, role=UN_INITIAL if by == "/" else None)
    return match.end()


def late(draft: Draft, match: re.Match[str]) -> int:
    """Read "06-2008": the month, then a year of four digits."""
    number, by, year, written = match.group("late_month", "late_by", "late_year", "late_symbol")
    month = month_of(number, int(year))
    if month is None:
        return _impossible(draft, match)
    symbols = symbols_of(written)
    if draft.date_open:
        first_test.take(draft, month, symbols)
    else:
        first_test.claim(draft, match.start(), month)
        _alone(draft, month, f"{'M' * len(number)}{by}YYYY", symbols, role=None)
    return match.end()


def letter(draft: Draft, match: re.Match[str]) -> int:
    """Read "07C08": the inspector's symbol, written as a letter, between month and year."""
    number, mark, year, written = match.group(
        "letter_month", "letter_mark", "letter_year", "letter_symbol"
    )
    month = Month(year_of(year, on=draft.on, floor=first_test.floor(draft)), int(number))
    symbols = symbols_of(written)
    if draft.date_open:
        draft.inspector = mark
        first_test.take(draft, month, symbols)
    else:
        order = f"{'M' * len(number)}{mark}YY"
        _alone(draft, month, order, symbols, role=ORIGINAL_TEST, letter=mark)
    return match.end()


def inspected(draft: Draft, match: re.Match[str]) -> int:
    """Read "AB 5-95": the inspector's mark and the month of the first test."""
    inspector, first, second, written = match.group(
        "inspector", "inspected_a", "inspected_b", "inspected_symbol"
    )
    if inspector in _NO_INSPECTOR:
        return 0
    month = _inspected_month(draft, first, second)
    if month is None:
        return 0
    symbols = symbols_of(written)
    if draft.date_open:
        _take_inspector(draft, match.start(), inspector)
        first_test.take(draft, month, symbols)
    else:
        _alone(draft, month, "M-YY", symbols, role=ORIGINAL_TEST, inspector=inspector)
    return match.end()


def _take_inspector(draft: Draft, place: int, inspector: str) -> None:
    """Keep the inspector's mark; ask where letters behind the number may be the maker's."""
    beside = draft.serial and "\n" not in draft.text[draft.serial_end : place]
    if draft.pending and beside and draft.maker is None:
        draft.ask(
            "maker_or_inspector",
            say(
                "One mark stands between number and date. Whose is {inspector}?",
                inspector=inspector,
            ),
            say("maker {inspector}", inspector=inspector),
            say("inspector {inspector}", inspector=inspector),
        )
    else:
        draft.inspector = inspector


def _inspected_month(draft: Draft, first: str, second: str) -> Month | None:
    """Return the month behind an inspector's mark, ``None`` where its order is open.

    Beside an open US specification the order is month-year (178.35(f)); a UN stamp has a year of
    four digits first.
    """
    if len(first) == _FULL_YEAR:
        return month_of(second, int(first))
    if len(second) == _FULL_YEAR:
        return month_of(first, int(second))
    if draft.pending:
        if len(second) != _SHORT_YEAR:
            return None
        return month_of(first, year_of(second, on=draft.on, floor=first_test.floor(draft)))
    found = candidates(first, "-", second, on=draft.on, country=draft.country)
    return found[0].month if len(found) == 1 else None


def day(draft: Draft, match: re.Match[str]) -> int:
    """Read three numbers: one calendar day, or a question where there are several."""
    choices = three_part_choices(re.split(r"[-./]", match[0]), on=draft.on)
    if not choices:
        return _impossible(draft, match)
    if len(choices) > 1:
        draft.marks.append(DateMark(None, "", candidates=tuple(choices)))
        draft.ask(
            "date_order", say("Which day is {match}? Conventions differ", match=match[0]), *choices
        )
    else:
        day_text, _, order = choices[0].partition(" ")
        _alone(draft, Month.parse(day_text[:7]), order.strip("()"), (), role=None)
    return match.end()


def swiss(draft: Draft, match: re.Match[str]) -> int:
    """Read a cross and a date: in Switzerland a visual inspection, no test."""
    first, by, second = match.group("swiss_first", "swiss_by", "swiss_second")
    found = candidates(first, by, second, on=draft.on, country="CH")
    if draft.country != "CH" or not found:
        return 0
    if len(found) == 1:
        _alone(draft, found[0].month, found[0].order, (), role=VISUAL_CH)
    else:
        _ask_order(draft, match, found, None)
    return match.end()
