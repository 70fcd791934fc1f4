"""Dates in the demonstration's stamps, counted back from today: what is due stays due."""

import datetime as dt
import re

from cylinders.rules.month import Month

_PLACE = re.compile(r"\{(date|mark|un):(-?[0-9]+)\}")


def fill_in(stamp: str, *, today: dt.date, rin: str) -> str:
    """Replace ``{date:-N}``, ``{mark:-N}`` and ``{un:-N}`` by the month N months before ``today``.

    ``date`` gives "6-08", ``mark`` a requalification mark with the square of ``rin`` read clockwise
    ("11 Z4/71 21" for Z417), ``un`` gives "2024/05".
    """

    def text(found: re.Match[str]) -> str:
        month = Month.of(today).plus_months(int(found[2]))
        year = f"{month.year % 100:02d}"
        if found[1] == "un":
            return f"{month.year}/{month.month:02d}"
        if found[1] == "date":
            return f"{month.month}-{year}"
        return f"{month.month} {rin[:2]}/{rin[3]}{rin[2]} {year}"

    return _PLACE.sub(text, stamp)


def months_ago(months: int | None, *, today: dt.date) -> str:
    """The month ``months`` before ``today`` as ``YYYY-MM``; empty for None."""
    return "" if months is None else str(Month.of(today).plus_months(-months))
