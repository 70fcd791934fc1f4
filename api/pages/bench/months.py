"""What falls due in the next twelve months: a duty lasts through a month, so months are enough."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.utils.formats import date_format

from api.pages.bench.due import DUE_YEAR, in_words, month_mark
from api.pages.page import BenchPage
from cylinders.queries.due_counts import MonthDue, due_months
from cylinders.queries.due_in_order import ask
from cylinders.rules.month import Month

_AHEAD = 12


@dataclass(frozen=True, slots=True)
class MonthAhead:
    """One month: how many cylinders, and how many times each duty; ``place`` leads to its list."""

    name: str
    place: str
    cylinders: str
    duties: tuple[tuple[str, str], ...]


class Months(BenchPage):
    """Twelve months from this one, each leading to its place in the list."""

    template = "pages/bench/months.html"
    tab = "due"

    def context(self) -> dict[str, Any]:
        """The months, quiet ones among them."""
        first = Month.of(self.on)
        ahead = [first.plus_months(number) for number in range(_AHEAD)]
        asked = ask(on=self.on, until=ahead[-1].last_day)
        if not asked.whole:
            return {"months": [_ahead(month, None) for month in ahead], "whole": False}
        found = due_months(asked, ahead)
        return {
            "months": [_ahead(one.month, one) for one in found.months],
            "late": found.late and in_words(found.late),
            "unknown": found.unknown and in_words(found.unknown),
            "whole": True,
        }


def _ahead(month: Month, found: MonthDue | None) -> MonthAhead:
    """One month as it is shown; without figures where they cannot be known."""
    asked = urlencode({"within": DUE_YEAR, "from": str(month)})
    duties = found.duties.items() if found else ()
    return MonthAhead(
        name=date_format(month.first_day, "F Y"),
        place=f"?{asked}#{month_mark(month)}",
        cylinders=in_words(found.cylinders if found else None),
        duties=tuple((kind.heading, in_words(count)) for kind, count in duties),
    )
