"""What is due over the whole shop, read from the index of due days and never trusted blindly.

The rules are asked about every cylinder that may have changed since the index was made, and about
every one that is shown. The index decides nothing but which cylinders need not be looked at: those
whose history, rules and day are the ones that it was made for (:mod:`cylinders.queries.due_index`).
"""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import NamedTuple

from django.db.models import Q, QuerySet

from cylinders import growth
from cylinders.models import Cylinder, KnownDue
from cylinders.queries.due import DueItem, due_list
from cylinders.queries.due_index import RuleBook, reach, rule_book, run_out
from cylinders.rules.duty import Duty

#: so many that may have changed are asked about while somebody waits for the page
MOST_ASKED = 500
_MOST_EVENTS = 10 * MOST_ASKED
_AT_ONCE = 500


class Place(NamedTuple):
    """A place in the list: a last day, None for what is not known, and the cylinder there."""

    due: dt.date | None
    cylinder: int


START = Place(None, 0)


def before(day: dt.date) -> Place:
    """The place after which all that lasts until ``day`` or longer follows."""
    return Place(day - dt.timedelta(days=1), 2**62)


@dataclass(frozen=True, slots=True)
class DuePage:
    """A part of the list; ``then`` is the place after which it goes on, None at its end.

    Not ``whole`` means that too many cylinders have changed, or all the rules have, since the index
    was made: what is shown is right, but some that are due may be missing until it is made again.
    """

    items: tuple[DueItem, ...]
    then: Place | None
    whole: bool


@dataclass(frozen=True, slots=True)
class Asked:
    """The cylinders that the index cannot speak for, and what the rules say of them.

    ``items`` are in the order of the list. None for ``numbers`` means that they are too many.
    """

    book: RuleBook
    numbers: frozenset[int] | None
    items: tuple[tuple[Place, Duty], ...] = ()

    @property
    def whole(self) -> bool:
        """Whether every one of them was asked about."""
        return self.numbers is not None

    def others(self) -> QuerySet[KnownDue]:
        """The entries of the index for all other cylinders."""
        return KnownDue.objects.exclude(cylinder__in=self.numbers or ())


def ask(*, on: dt.date, until: dt.date, most: int | None = MOST_ASKED) -> Asked:
    """Ask the rules about what the index cannot speak for on day ``on``; what is due by ``until``.

    With None for ``most`` about all of them, however many.
    """
    book = rule_book()
    numbers = _in_question(book, on=on, most=most)
    found = [
        (Place(duty.due, number), duty)
        for number, told in _told(numbers or (), book, on=on)
        for duty in told
        if duty.due is None or duty.due <= until
    ]
    return Asked(book, numbers, tuple(sorted(found, key=lambda one: _key(one[0]))))


def due_page(
    asked: Asked, *, on: dt.date, until: dt.date, after: Place = START, size: int = 100
) -> DuePage:
    """The list behind ``after``: unknown first, then the earliest last day; ``size`` places.

    A place is one cylinder with all of its duties that have the same last day.
    """
    places = {place for place, _duty in asked.items if _key(place) > _key(after)}
    places.update(islice(_indexed(asked, until=until, after=after, most=size + 1), size + 1))
    ordered = sorted(places, key=_key)
    shown = ordered[:size]
    items = tuple(_items(shown, asked.book, on=on, until=until))
    return DuePage(items, shown[-1] if len(ordered) > size else None, asked.whole)


def due_items(*, on: dt.date, within_days: int) -> list[DueItem]:
    """The whole list, item for item as :func:`cylinders.queries.due.due_list` gives it.

    The index saves asking about those that are not due; where it does not reach, all are asked.
    """
    until = on + dt.timedelta(days=within_days)
    if reach(rule_book(), on=on) is None:
        return due_list(on=on, within_days=within_days)
    asked = ask(on=on, until=until, most=None)
    after: Place | None = START
    items: list[DueItem] = []
    while after is not None:
        page = due_page(asked, on=on, until=until, after=after, size=_AT_ONCE)
        items, after = items + list(page.items), page.then
    return items


def _key(place: Place) -> tuple[dt.date, int]:
    return place.due or dt.date.min, place.cylinder


def _in_question(book: RuleBook, *, on: dt.date, most: int | None) -> frozenset[int] | None:
    """The cylinders that may have changed since the index was made; None for more than ``most``."""
    held = reach(book, on=on)
    if held is None:
        every = Cylinder.objects.order_by("pk").values_list("pk", flat=True)
        numbers = frozenset(every if most is None else every[: most + 1])
    else:
        grown = growth.grown_since(held, most_events=None if most is None else _MOST_EVENTS)
        if grown is None:
            return None
        turned = run_out(on=on).order_by("again_on").values_list("pk", flat=True)
        numbers = grown.union(turned if most is None else turned[: most + 1])
    return numbers if most is None or len(numbers) <= most else None


def _indexed(asked: Asked, *, until: dt.date, after: Place, most: int) -> Iterator[Place]:
    """The index's places behind ``after``, in order: at most ``most`` of each range."""
    behind = Q(cylinder__gt=after.cylinder)
    if after.due is None:
        ranges = [Q(due__isnull=True) & behind, Q(due__lte=until)]
    else:
        ranges = [Q(due=after.due) & behind, Q(due__gt=after.due, due__lte=until)]
    for there in ranges:
        rows = asked.others().filter(there).order_by("due", "cylinder_id")
        for due, number in rows.values_list("due", "cylinder_id").distinct()[:most]:
            yield Place(due, number)


def _told(
    numbers: Collection[int], book: RuleBook, *, on: dt.date
) -> Iterator[tuple[int, tuple[Duty, ...]]]:
    for cylinder in _cylinders(numbers):
        yield cylinder.pk, book.duties(cylinder, on=on)


def _cylinders(numbers: Collection[int]) -> Iterator[Cylinder]:
    ordered = sorted(numbers)
    for first in range(0, len(ordered), _AT_ONCE):
        some = Cylinder.objects.filter(pk__in=ordered[first : first + _AT_ONCE])
        yield from some.select_related("owner")


def _items(
    shown: Iterable[Place], book: RuleBook, *, on: dt.date, until: dt.date
) -> Iterator[DueItem]:
    """What the rules say today of each cylinder that is shown, in the order of the places."""
    places = list(shown)
    cylinders = {one.pk: one for one in _cylinders({place.cylinder for place in places})}
    told = {number: book.duties(one, on=on) for number, one in cylinders.items()}
    for place in places:
        here = [duty for duty in told.get(place.cylinder, ()) if duty.due == place.due]
        # Something happened to it at this moment: it is shown as it is now, rather than lost.
        now = here or [d for d in told.get(place.cylinder, ()) if not d.due or d.due <= until]
        yield from (DueItem(cylinders[place.cylinder], duty) for duty in now)


__all__ = ["MOST_ASKED", "START", "Asked", "DuePage", "Place", "ask", "due_items", "due_page"]
