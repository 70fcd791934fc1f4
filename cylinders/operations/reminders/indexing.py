"""Keep the index of due days: ask the rules again about what happened to since they were asked."""

import datetime as dt

from django.db import transaction
from django.db.models import F, Q, QuerySet

from cylinders.models import Cylinder, DueLook, KnownDue, Life
from cylinders.queries.due_index import Looked, RuleBook, rule_book

_AT_ONCE = 500


def look_again(*, on: dt.date) -> int:
    """Ask the rules about every cylinder whose entry is missing or old; returns how many.

    An entry is old when its cylinder's history has grown, when the rules or the owner's rows are
    others, or when its day has come. A cylinder that somebody is working on at this moment is left
    to the next time.
    """
    book, after, count = rule_book(), 0, 0
    while True:
        looked = _look_at_some(book, on=on, after=after)
        if not looked:
            return count
        after, count = looked[-1], count + len(looked)


@transaction.atomic
def _look_at_some(book: RuleBook, *, on: dt.date, after: int) -> list[int]:
    rows = _old(book, on=on).filter(pk__gt=after).order_by("pk")
    cylinders = list(rows.select_for_update(of=("self",), no_key=True, skip_locked=True)[:_AT_ONCE])
    numbers = [cylinder.pk for cylinder in cylinders]
    found = {cylinder: book.look(cylinder, on=on) for cylinder in cylinders}
    KnownDue.objects.filter(cylinder__in=numbers).delete()
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


def _old(book: RuleBook, *, on: dt.date) -> QuerySet[Cylinder]:
    fresh = Q(
        due_look__events=F("events_held"), due_look__edition=book.edition, due_look__on__lte=on
    )
    fresh &= Q(due_look__again_on__isnull=True) | Q(due_look__again_on__gt=on)
    return Cylinder.objects.filter(life=Life.IN_SERVICE).exclude(fresh)


def _look(cylinder: Cylinder, looked: Looked, book: RuleBook, on: dt.date) -> DueLook:
    return DueLook(
        cylinder=cylinder,
        on=on,
        events=cylinder.events_held,
        edition=book.edition,
        again_on=looked.again_on,
    )
