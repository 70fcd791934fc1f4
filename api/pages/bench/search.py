"""Where is it, and what is due: the two lists that are asked for most."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from api.pages.bench.cylinder import DutyRow, duty_rows
from api.pages.bench.order import stage_name
from api.pages.bench.resolve import scanned
from api.pages.page import BenchPage
from cylinders.models import Cylinder, WorkOrder
from cylinders.queries.due import DueItem, due_list
from cylinders.queries.find import search
from cylinders.rules.month import Month
from cylinders.rules.wording import say
from labels.scanning import Named

LONGEST = 200
DUE_YEAR = 365  # days
LATE_MARK = "late"
_NOT_KNOWN, _LATE = say("Not known"), say("Overdue")


@dataclass(frozen=True, slots=True)
class Hit:
    """A cylinder that was found, and where it is."""

    cylinder: Cylinder
    where: str
    url: str


class Find(BenchPage):
    """By code, serial, owner or bag."""

    template = "pages/bench/find.html"
    tab = "find"

    def context(self) -> dict[str, Any]:
        """What was asked and what was found."""
        asked = self.request.GET.get("q", "")[:LONGEST].strip()
        return {"q": asked, "rows": self._hits(asked) if asked else []}

    def _hits(self, asked: str) -> list[Hit]:
        named = scanned(self.request, asked)
        by_tag = [named.cylinder] if isinstance(named, Named) and named.cylinder else []
        found = [*by_tag, *(c for c in search(asked) if c not in by_tag)]
        return where_are(found)


def where_are(cylinders: Iterable[Cylinder]) -> list[Hit]:
    """Each cylinder with the place of its open visit."""
    cylinders = list(cylinders)
    orders = {
        order.cylinder_id: order
        for order in WorkOrder.objects.filter(cylinder__in=cylinders, closed_at__isnull=True)
    }
    return [Hit(c, _where(orders.get(c.pk)), reverse("cylinder", args=[c.pk])) for c in cylinders]


def _where(order: WorkOrder | None) -> str:
    if order is None:
        return _("Not in the house")
    return _("%(stage_name)s since %(moved_at)s, order %(order)s") % {
        "stage_name": stage_name(order.stage),
        "moved_at": format(order.moved_at, "%Y-%m-%d"),
        "order": order.pk,
    }


@dataclass(frozen=True, slots=True)
class DueRow:
    """One cylinder in the list, with what is due on it."""

    cylinder: Cylinder
    duties: tuple[DutyRow, ...]


@dataclass(frozen=True, slots=True)
class DueGroup:
    """The cylinders of one month."""

    name: str
    rows: tuple[DueRow, ...]
    mark: str

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
        """The list, grouped."""
        asked = self.request.GET.get("within", "")
        days = int(asked) if asked in {str(span) for span in self.spans} else self.spans[1]
        items = due_list(on=self.on, within_days=days)
        groups = [
            DueGroup(name, _by_cylinder(rows), mark)
            for (name, mark), rows in groupby(items, key=self._group)
        ]
        return {"groups": groups, "count": len(items), "days": days, "spans": self.spans}

    def _group(self, item: DueItem) -> tuple[str, str]:
        due = item.duty.due
        if due is None:
            return _NOT_KNOWN, "not-known"
        return (
            (_LATE, LATE_MARK)
            if due < self.on
            else (date_format(due, "F Y"), month_mark(Month.of(due)))
        )


def month_mark(month: Month) -> str:
    """The name of a month's place in the list."""
    return f"month-{month}"


def _by_cylinder(items: Iterable[DueItem]) -> tuple[DueRow, ...]:
    found: dict[int, list[DueItem]] = {}
    for item in items:
        found.setdefault(item.cylinder.pk, []).append(item)
    return tuple(
        DueRow(same[0].cylinder, tuple(duty_rows(tuple(item.duty for item in same))))
        for same in found.values()
    )
