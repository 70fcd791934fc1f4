"""What falls due in the next twelve months: a duty lasts through a month, so months are enough."""

from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.utils.formats import date_format

from api.pages.bench.search import DUE_YEAR, month_mark
from api.pages.page import BenchPage
from cylinders.queries.due import DueItem, due_list
from cylinders.rules.duties import DutyKind
from cylinders.rules.month import Month

_AHEAD = 12


@dataclass(frozen=True, slots=True)
class MonthAhead:
    """One month: how many cylinders, and how many times each duty."""

    month: Month
    name: str
    mark: str
    cylinders: int
    duties: tuple[tuple[str, int], ...]


class Months(BenchPage):
    """Twelve months from this one, each leading to its place in the list."""

    template = "pages/bench/months.html"
    tab = "due"

    def context(self) -> dict[str, Any]:
        """The months, quiet ones among them."""
        items = due_list(on=self.on, within_days=DUE_YEAR)
        dated = sorted((i for i in items if i.duty.due), key=_month_of)
        by_month = {month: list(same) for month, same in groupby(dated, key=_month_of)}
        first = Month.of(self.on)
        ahead = [first.plus_months(number) for number in range(_AHEAD)]
        return {
            "months": [_ahead(month, by_month.get(month, [])) for month in ahead],
            "late": len({i.cylinder.pk for i in dated if _month_of(i) < first}),
            "unknown": len({i.cylinder.pk for i in items if i.duty.due is None}),
        }


def _month_of(item: DueItem) -> Month:
    if item.duty.due is None:
        raise ValueError(f"{item.duty.kind} has no day")
    return Month.of(item.duty.due)


def _ahead(month: Month, items: list[DueItem]) -> MonthAhead:
    kinds = [item.duty.kind for item in items]
    return MonthAhead(
        month=month,
        name=date_format(month.first_day, "F Y"),
        mark=month_mark(month),
        cylinders=len({item.cylinder.pk for item in items}),
        duties=tuple((kind.heading, kinds.count(kind)) for kind in DutyKind if kind in kinds),
    )
