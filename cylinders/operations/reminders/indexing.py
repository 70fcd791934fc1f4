"""Keep the index of due days: ask the rules again about what happened to since they were asked.

Usually only the cylinders with an event since the last time are looked at, and those whose day has
come, however many there are. After a change of the rules or of the owner's rows, or for an earlier
day, all of them are.
"""

import datetime as dt
import secrets
from collections.abc import Collection, Iterator

from django.db import transaction
from django.db.models import QuerySet

from cylinders import growth, history
from cylinders.models import Cylinder, DueLook, DueReach, KnownDue
from cylinders.queries.due_index import Looked, RuleBook, old, rule_book, run_out

_AT_ONCE, _FEW_AT_ONCE = 500, 100  # of all, and of those that have changed
_ONE = 1  # the number of the one row of DueReach


class _Overtaken(Exception):
    """Somebody began to make the whole index anew, under other rules or for another day."""


def look_again(*, on: dt.date) -> int:
    """Ask the rules about every cylinder whose entry is missing or old; returns how many.

    An entry is old when its cylinder's history has grown, when the rules or the owner's rows are
    others, or when its day has come. Cylinders that somebody is working on at this moment come
    last. At the end the index is known to be whole up to the place where it began. Must not run
    inside a transaction that writes events.
    """
    book = rule_book()
    held = _begin(book, on=on)
    place = growth.settled_by_now()
    if place is None and held.place is None:
        place = history.settled_place()
    count = 0
    try:
        for numbers in _looks(book, held, on=on, behind=place):
            count += numbers
    except _Overtaken:
        return count
    if place is not None and place != held.place:
        _end(held, place=place)
    return count


def _looks(book: RuleBook, held: DueReach, *, on: dt.date, behind: int | None) -> Iterator[int]:
    """Look at all that is old, first what nobody holds; yields how many at a time."""
    rows = old(book, on=on)
    if held.place is None:
        yield from _look_through(book, held, on=on)
        left = set(rows.values_list("pk", flat=True))
        left -= growth.grown_since(behind or 0) or frozenset()
    else:
        turned = run_out(on=on).values_list("pk", flat=True)
        maybe = sorted((growth.grown_since(held.place) or frozenset()).union(turned))
        left = set()
        for first in range(0, len(maybe), _FEW_AT_ONCE):
            some = rows.filter(pk__in=maybe[first : first + _FEW_AT_ONCE])
            wanted = set(some.values_list("pk", flat=True))
            looked = _look_at(_free(some), book, held, on=on)
            left |= wanted.difference(looked)
            yield len(looked)
    for number in sorted(left):
        yield len(_look_at(_held(rows, number), book, held, on=on))


def _look_through(book: RuleBook, held: DueReach, *, on: dt.date) -> Iterator[int]:
    after = 0
    while True:
        rows = old(book, on=on).filter(pk__gt=after).order_by("pk")[:_AT_ONCE]
        looked = _look_at(_free(rows), book, held, on=on)
        if not looked:
            return
        after = looked[-1]
        yield len(looked)


def _free(rows: QuerySet[Cylinder]) -> QuerySet[Cylinder]:
    return rows.select_for_update(of=("self",), no_key=True, skip_locked=True)


def _held(rows: QuerySet[Cylinder], number: int) -> QuerySet[Cylinder]:
    """One alone, waited for: nobody is waited for with another in hand."""
    return rows.filter(pk=number).select_for_update(of=("self",), no_key=True)


@transaction.atomic
def _look_at(rows: QuerySet[Cylinder], book: RuleBook, held: DueReach, *, on: dt.date) -> list[int]:
    _still(held)
    cylinders = list(rows)
    numbers = [cylinder.pk for cylinder in cylinders]
    found = {cylinder: book.look(cylinder, on=on) for cylinder in cylinders}
    _forget(numbers)
    KnownDue.objects.bulk_create(
        KnownDue(cylinder=cylinder, duty=duty, due=day)
        for cylinder, looked in found.items()
        for duty, day in looked.days.items()
    )
    DueLook.objects.bulk_create(
        (_look(cylinder, looked, book, on) for cylinder, looked in found.items()),
        update_conflicts=True,
        unique_fields=["cylinder"],
        update_fields=["on", "events", "edition", "again_on"],
    )
    return numbers


def _forget(numbers: Collection[int]) -> None:
    if numbers:
        KnownDue.objects.filter(cylinder__in=numbers).delete()


def _look(cylinder: Cylinder, looked: Looked, book: RuleBook, on: dt.date) -> DueLook:
    return DueLook(
        cylinder=cylinder,
        on=on,
        events=cylinder.events_held,
        edition=book.edition,
        again_on=looked.again_on,
    )


def _begin(book: RuleBook, *, on: dt.date) -> DueReach:
    """What the index reaches; nothing where it has to be made anew, and then under a new turn."""
    held = DueReach.objects.filter(pk=_ONE, edition=book.edition, on=on).first()
    return held or _begin_anew(book, on=on)


@transaction.atomic
def _begin_anew(book: RuleBook, *, on: dt.date) -> DueReach:
    turn = secrets.token_hex(16)
    held, _made = DueReach.objects.select_for_update().get_or_create(
        pk=_ONE, defaults={"edition": book.edition, "on": on, "turn": turn}
    )
    if held.edition != book.edition or held.on > on:
        held.place, held.turn = None, turn
    held.edition, held.on = book.edition, on
    held.save()
    return held


def _still(held: DueReach) -> None:
    """Keep everybody else's turn from beginning until this transaction ends."""
    now = DueReach.objects.select_for_update(no_key=True).filter(pk=_ONE).first()
    if now is None or now.turn != held.turn:
        raise _Overtaken


@transaction.atomic
def _end(held: DueReach, *, place: int) -> None:
    now = DueReach.objects.select_for_update().filter(pk=_ONE).first()
    if now is not None and now.turn == held.turn:
        now.place = max(place, now.place or 0)
        now.save()
