"""A calendar month: what a requalification mark gives, and the last day it is good for.

49 CFR 180.205(c): a cylinder may be requalified at any time before or during the month it is due.
So a mark "11 21" with a five-year interval is in date through 2026-11-30.

>>> Month(2021, 11).plus_months(60)
Month(year=2026, month=11)
>>> Month(2023, 2).plus_months(60).last_day.isoformat()
'2028-02-29'
"""

from __future__ import annotations

import calendar
import datetime as dt
import re
from dataclasses import dataclass

_SHAPE = re.compile(r"([0-9]{4})-([0-9]{2})", re.ASCII)
_FIRST_YEAR, _LAST_YEAR = 1850, 2999
_MONTHS = 12


@dataclass(frozen=True, slots=True, order=True)
class Month:
    """Year and month; raises ``ValueError`` for a month that no calendar has."""

    year: int
    month: int

    def __post_init__(self) -> None:
        """Refuse impossible months at once."""
        if not (1 <= self.month <= _MONTHS and _FIRST_YEAR <= self.year <= _LAST_YEAR):
            msg = f"{self.year}-{self.month} is no month; give YYYY-MM"
            raise ValueError(msg)

    @classmethod
    def parse(cls, text: str) -> Month:
        """Read ``YYYY-MM``; raises ``ValueError`` for any other shape."""
        found = _SHAPE.fullmatch(text)
        if not found:
            msg = f"{text[:40]!r} is no month; give YYYY-MM"
            raise ValueError(msg)
        return cls(int(found[1]), int(found[2]))

    @classmethod
    def of(cls, day: dt.date) -> Month:
        """The month that ``day`` lies in."""
        return cls(day.year, day.month)

    def plus_months(self, months: int) -> Month:
        """The month ``months`` later."""
        years, index = divmod(self.month - 1 + months, _MONTHS)
        return Month(self.year + years, index + 1)

    @property
    def first_day(self) -> dt.date:
        """First calendar day."""
        return dt.date(self.year, self.month, 1)

    @property
    def last_day(self) -> dt.date:
        """Last calendar day, leap years included."""
        return dt.date(self.year, self.month, calendar.monthrange(self.year, self.month)[1])

    def __str__(self) -> str:
        """``YYYY-MM``."""
        return f"{self.year:04d}-{self.month:02d}"
