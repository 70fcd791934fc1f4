"""Dates on a stamp: which century two digits mean, and in which order month and year stand.

Century rule. Two digits mean the latest year that ends in them and is neither after the year of
``on`` nor before the ``floor`` of the mark (a RIN: 1970, DOT: 1967, TC: 1993). Where there is
none, they mean the coming year within ten that ends in them, which is then a date ahead.

>>> import datetime as dt
>>> today = dt.date(2026, 11, 25)
>>> year_of("95", on=today, floor=1967), year_of("27", on=today, floor=1967)
(1995, 2027)
>>> year_of("27", on=today, floor=1900)
1927
"""

import datetime as dt
from dataclasses import dataclass

from cylinders.rules.month import Month
from cylinders.rules.wording import say

CENTURY = 100
AHEAD_YEARS = 10
_TWO_DIGITS = 2
_MONTHS = 12
#: no cylinder is older, and none is stamped with a later year
_YEARS = range(1850, 2200)
_YEAR_LENGTHS = frozenset({2, 4})

#: first year in which an authority's mark, or a RIN, can have been stamped. TC: trade pages;
#: DOT and RIN: from memory.
FLOORS = {"DOT": 1967, "TC": 1993}
RIN_FLOOR = 1970
BARE_FLOOR = 1900

#: countries whose own stamps put the year first, and the month last
_YEAR_FIRST = frozenset({"GB", "DE", "CH", "AT", "FR", "NL", "BE", "IT", "ES", "SE", "NO", "FI"})
US_ORDER = frozenset({"US", "CA"})
NEXT_DUE_OLD = say("NEXT due (Germany, older style)")
NEXT_DUE = say("NEXT due (Germany since 2012-03)")
NEXT_DUE_ROLES = frozenset({NEXT_DUE, NEXT_DUE_OLD})
LAST_TEST_GB = say("last test (Great Britain, year first since 2002)")
VISUAL_CH = say("visual inspection (Switzerland)")


def year_of(digits: str, *, on: dt.date, floor: int, ahead: bool = False) -> int:
    """Return the year that ``digits`` (two or four, perhaps after an apostrophe) mean.

    ``ahead``: the date is one that lies ahead (a next due date), so a coming year is preferred.
    """
    digits = digits.lstrip("'")
    if len(digits) > _TWO_DIGITS:
        return int(digits)
    past = on.year - (on.year - int(digits)) % CENTURY
    coming = past + CENTURY
    near = coming <= on.year + AHEAD_YEARS
    return coming if near and (ahead or past < floor) else past


def month_of(month: str, year: int) -> Month | None:
    """Return the month, ``None`` where no calendar or no cylinder has it."""
    number = int(month)
    return Month(year, number) if 1 <= number <= _MONTHS and year in _YEARS else None


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way to read a pair of numbers: the month, how it is written, in which convention.

    ``coming`` is the same month a century later where that lies within ten years of today.
    """

    month: Month
    order: str
    year_first: bool
    coming: Month | None = None

    @property
    def choice(self) -> str:
        """The reading in words, for a question."""
        order = say("year-month") if self.year_first else say("US month-year")
        return say("{month} ({order})", month=self.month, order=order)


def candidates(first: str, by: str, second: str, *, on: dt.date, country: str) -> list[Candidate]:
    """Return every month that "first by second" can mean, the country's own order first."""
    found: list[Candidate] = []
    if len(second) == _TWO_DIGITS:
        month = month_of(first, year_of(second, on=on, floor=BARE_FLOOR))
        if month:
            order = f"{'M' * len(first)}{by}YY"
            found.append(Candidate(month, order, year_first=False, coming=_coming(month, on)))
    if len(first) == _TWO_DIGITS:
        year = year_of(first, on=on, floor=BARE_FLOOR, ahead=country == "DE")
        month = month_of(second, year)
        if month and all(month != other.month for other in found):
            order = f"YY{by}{'M' * len(second)}"
            found.append(Candidate(month, order, year_first=True, coming=_coming(month, on)))
    if country in _YEAR_FIRST:
        found.reverse()
    return found


def _coming(month: Month, on: dt.date) -> Month | None:
    """Return ``month`` a century later, ``None`` where that is more than ten years ahead."""
    coming = month.year + CENTURY
    return Month(coming, month.month) if coming <= on.year + AHEAD_YEARS else None


def role_of(candidate: Candidate, country: str) -> str | None:
    """Return what a date without a RIN stands for in ``country``; ``None`` where not known."""
    if country == "DE":
        return NEXT_DUE if candidate.order.endswith("MM") else NEXT_DUE_OLD
    if country == "GB" and candidate.year_first:
        return LAST_TEST_GB
    return None


def three_part_choices(parts: list[str], *, on: dt.date) -> list[str]:
    """Return every calendar day that three numbers can mean, each with its convention."""
    orders = (("month-day-year", 0, 1, 2), ("day-month-year", 1, 0, 2), ("year-month-day", 1, 2, 0))
    found: dict[str, str] = {}
    for name, month, day, year in orders:
        short = len(parts[month]) <= _TWO_DIGITS and len(parts[day]) <= _TWO_DIGITS
        if not short or len(parts[year]) not in _YEAR_LENGTHS:
            continue
        try:
            date = dt.date(
                year_of(parts[year], on=on, floor=BARE_FLOOR), int(parts[month]), int(parts[day])
            )
            Month.of(date)
        except ValueError:
            continue
        found.setdefault(date.isoformat(), name)
    return [f"{day} ({name})" for day, name in found.items()]
