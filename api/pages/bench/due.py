"""What is due, in the order of its last days, a hundred cylinders at a time."""

import datetime as dt
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any
from urllib.parse import urlencode

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _

from api.pages.bench.cylinder import DutyRow, duty_rows
from api.pages.page import BenchPage
from cylinders.models import Cylinder
from cylinders.queries.due import DueItem
from cylinders.queries.due_counts import Count, due_count
from cylinders.queries.due_in_order import START, DuePage, Place, ask, before, due_page
from cylinders.rules.month import Month
from cylinders.rules.wording import say

DUE_YEAR = 365  # days
ON_A_PAGE = 100  # cylinders
LATE_MARK = "late"
_NOT_KNOWN, _LATE = say("Not known"), say("Overdue")
#: a place in the list as an address carries it: its last day, nothing where unknown, and a number
_PLACE = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})?~([0-9]{1,18})", re.ASCII)


@dataclass(frozen=True, slots=True)
class DueRow:
    """One cylinder in the list, with what is due on it."""

    cylinder: Cylinder
    duties: tuple[DutyRow, ...]


@dataclass(frozen=True, slots=True)
class DueGroup:
    """The cylinders of one month; not ``complete`` where more of them stand on another page."""

    name: str
    rows: tuple[DueRow, ...]
    mark: str
    complete: bool = False

    @property
    def dated(self) -> bool:
        """Whether the days of the group differ, so that each is shown."""
        return self.mark == LATE_MARK


class Due(BenchPage):
    """Everything that is not known, overdue, or due soon, by month."""

    template = "pages/bench/due.html"
    tab = "due"
    spans = (30, 60, 90, DUE_YEAR)

    def context(self) -> dict[str, Any]:
        """One page of the list, grouped; ``then`` is the address of the next."""
        within = self.request.GET.get("within", "")
        days = int(within) if within in {str(span) for span in self.spans} else self.spans[1]
        until = self.on + dt.timedelta(days=days)
        after, begun = self._after()
        asked = ask(on=self.on, until=until)
        page = due_page(asked, on=self.on, until=until, after=after, size=ON_A_PAGE)
        return {
            "groups": self._groups(page, begun=begun),
            "count": in_words(due_count(asked, until=until) if page.whole else None),
            "days": days,
            "spans": self.spans,
            "begun": after != START,
            "then": page.then and urlencode({"within": days, "after": _written(page.then)}),
            "whole": page.whole,
        }

    def _after(self) -> tuple[Place, bool]:
        """The place behind which the page begins, and whether that is amid a month, perhaps."""
        month, place = self.request.GET.get("from", ""), self.request.GET.get("after", "")
        try:
            if month:
                first = Month.parse(month).first_day
                return before(first), first <= self.on
            read = _PLACE.fullmatch(place)
            if read:
                due = dt.date.fromisoformat(read[1]) if read[1] else None
                return Place(due, int(read[2])), True
        except (ValueError, OverflowError):
            pass  # no such month or day: the list begins at its beginning
        return START, False

    def _groups(self, page: DuePage, *, begun: bool) -> list[DueGroup]:
        groups = [
            DueGroup(name, _by_cylinder(rows), mark)
            for (name, mark), rows in groupby(page.items, key=self._group)
        ]
        last = len(groups) - 1
        return [
            replace(
                group,
                complete=page.whole
                and not (begun and place == 0)
                and not (page.then and place == last),
            )
            for place, group in enumerate(groups)
        ]

    def _group(self, item: DueItem) -> tuple[str, str]:
        due = item.duty.due
        if due is None:
            return _NOT_KNOWN, "not-known"
        return (
            (_LATE, LATE_MARK)
            if due < self.on
            else (date_format(due, "F Y"), month_mark(Month.of(due)))
        )


def in_words(count: Count | None) -> str:
    """A number as a page tells it; None where it cannot be known."""
    if count is None:
        return _("not known")
    told = number_format(count.number, force_grouping=True)
    return _("more than %(number)s") % {"number": told} if count.more else told


def month_mark(month: Month) -> str:
    """The name of a month's place in the list."""
    return f"month-{month}"


def _written(place: Place) -> str:
    return f"{place.due or ''}~{place.cylinder}"


def _by_cylinder(items: Iterable[DueItem]) -> tuple[DueRow, ...]:
    found: dict[int, list[DueItem]] = {}
    for item in items:
        found.setdefault(item.cylinder.pk, []).append(item)
    return tuple(
        DueRow(same[0].cylinder, tuple(duty_rows(tuple(item.duty for item in same))))
        for same in found.values()
    )
