"""How much is due, told cheaply: up to a thousand exactly, beyond that "more than 1,000"."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TypeAlias

from django.db.models import Q, QuerySet

from cylinders.models import KnownDue
from cylinders.queries.due_in_order import Asked
from cylinders.rules.duties import DutyKind
from cylinders.rules.month import Month

MOST_COUNTED = 1000
#: no cylinder has more duties than there are kinds, so more entries than this are enough cylinders
_ENOUGH = MOST_COUNTED * len(DutyKind)
_Row: TypeAlias = tuple[dt.date, int, str]
_Kinds: TypeAlias = "Counter[tuple[Month, DutyKind]]"


@dataclass(frozen=True, slots=True)
class Count:
    """``number``, or more than that."""

    number: int
    more: bool = False

    @classmethod
    def of(cls, number: int) -> "Count":
        """A number as it is told: exactly where it is small."""
        return cls(min(number, MOST_COUNTED), number > MOST_COUNTED)

    def __bool__(self) -> bool:
        return self.number > 0


@dataclass(frozen=True, slots=True)
class MonthDue:
    """What lasts through some day of one month: cylinders, and how many times each duty."""

    month: Month
    cylinders: Count
    duties: dict[DutyKind, Count]


@dataclass(frozen=True, slots=True)
class MonthsDue:
    """The months asked about, and the cylinders that are late before them, or not known."""

    months: tuple[MonthDue, ...]
    late: Count
    unknown: Count


def due_count(asked: Asked, *, until: dt.date) -> Count:
    """How many duties are not known, overdue or due by ``until``."""
    own = sum(place.due is None or place.due <= until for place, _duty in asked.items)
    unknown, dated = _counted(asked, Q(due__isnull=True)), _counted(asked, Q(due__lte=until))
    return Count.of(own + unknown + dated)


def due_months(asked: Asked, months: Sequence[Month]) -> MonthsDue:
    """The duties by month; ``asked`` reaches to the end of the last of ``months``."""
    first, last = months[0].first_day, months[-1].last_day
    rows = _rows(asked, Q(due__range=(first, last)))
    if rows is None:
        stale = _stale(asked, first, last)
        told = [_month(asked, month, stale) for month in months]
    else:
        rows += _own(asked, first, last)
        by_month = {
            month: list(same)
            for month, same in groupby(sorted(rows), key=lambda row: Month.of(row[0]))
        }
        told = [_exactly(month, by_month.get(month, [])) for month in months]
    late = {place.cylinder for place, _ in asked.items if place.due and place.due < first}
    unknown = {place.cylinder for place, _ in asked.items if place.due is None}
    return MonthsDue(
        tuple(told),
        _cylinders(asked, Q(due__lt=first), late),
        _cylinders(asked, Q(due__isnull=True), unknown),
    )


def _month(asked: Asked, month: Month, stale: _Kinds) -> MonthDue:
    """One month; each kind by itself, up to a thousand, where there are many entries."""
    within = Q(due__range=(month.first_day, month.last_day))
    own = _own(asked, month.first_day, month.last_day)
    rows = _rows(asked, within)
    if rows is not None:
        return _exactly(month, [*rows, *own])
    mine = Counter(DutyKind(duty) for _due, _number, duty in own)
    counts = {
        kind: Count.of(mine[kind] + _of_kind(kind, within, but=stale[month, kind]))
        for kind in DutyKind
    }
    return MonthDue(month, Count(MOST_COUNTED, more=True), {k: n for k, n in counts.items() if n})


def _stale(asked: Asked, first: dt.date, last: dt.date) -> _Kinds:
    """How many entries the index has in each month for those that it cannot speak for."""
    entries = KnownDue.objects.filter(due__range=(first, last), cylinder__in=asked.numbers or ())
    rows = entries.values_list("due", "duty")
    return Counter((Month.of(due), DutyKind(duty)) for due, duty in rows if due is not None)


def _of_kind(kind: DutyKind, there: Q, *, but: int) -> int:
    """The entries of one kind but for so many of them: cheaper than naming those each time."""
    entries = KnownDue.objects.filter(there, duty=kind.value).order_by("duty", "due")
    return entries.values("duty", "due")[: MOST_COUNTED + 1 + but].count() - but


def _exactly(month: Month, rows: Iterable[_Row]) -> MonthDue:
    here = list(rows)
    kinds = Counter(DutyKind(duty) for _due, _number, duty in here)
    return MonthDue(
        month,
        Count.of(len({number for _due, number, _duty in here})),
        {kind: Count.of(kinds[kind]) for kind in DutyKind if kind in kinds},
    )


def _own(asked: Asked, first: dt.date, last: dt.date) -> list[_Row]:
    return [
        (place.due, place.cylinder, duty.kind.value)
        for place, duty in asked.items
        if place.due and first <= place.due <= last
    ]


def _in_order(asked: Asked, there: Q) -> QuerySet[KnownDue]:
    return asked.others().filter(there).order_by("due", "cylinder_id")


def _rows(asked: Asked, there: Q) -> list[_Row] | None:
    """The index's entries there; None where they are so many that nobody would count them."""
    if _counted(asked, there, most=_ENOUGH) > _ENOUGH:
        return None
    entries = _in_order(asked, there).values_list("due", "cylinder_id", "duty")
    return [(due, number, duty) for due, number, duty in entries if due is not None]


def _counted(asked: Asked, there: Q, *, most: int = MOST_COUNTED) -> int:
    """How many entries there are; counted by the database, and no further than one too many."""
    return _in_order(asked, there).values("due", "cylinder_id")[: most + 1].count()


def _cylinders(asked: Asked, there: Q, own: set[int]) -> Count:
    if _counted(asked, there, most=_ENOUGH) > _ENOUGH:
        return Count(MOST_COUNTED, more=True)
    return Count.of(len(own.union(_in_order(asked, there).values_list("cylinder_id", flat=True))))
