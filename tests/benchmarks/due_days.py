"""The index of due days of a copied world: the rules asked once for each month, then copied too.

Copies differ in what the rules read by the month of their last requalification alone, so the answer
for one of a month is that for all of it. A sample is held against the rules themselves.
"""

import random

from django.db import connection

from cylinders import growth
from cylinders.models import Cylinder, DueReach
from cylinders.queries import due_index
from tests import makers
from tests.benchmarks import world

SAMPLE = 200
_DAYS = """
INSERT INTO cylinders_knowndue (cylinder_id, duty, due)
SELECT id, %s, %s FROM cylinders_cylinder WHERE requalified = %s ORDER BY id
"""
_LOOKS = """
INSERT INTO cylinders_duelook (cylinder_id, "on", events, edition, again_on)
SELECT id, %s, events_held, %s, %s FROM cylinders_cylinder WHERE requalified = %s ORDER BY id
"""


def fill(filled: world.World) -> None:
    """Index every cylinder of ``filled``; raises where the sample says otherwise than the rules."""
    book, on = due_index.rule_book(), makers.TODAY
    numbers = {month: place + 1 for place, month in enumerate(filled.months)}
    with connection.cursor() as cursor:
        for month, number in sorted(numbers.items()):
            looked = book.look(Cylinder.objects.get(pk=number), on=on)
            for duty, due in looked.days.items():
                cursor.execute(_DAYS, [duty, due, month])
            cursor.execute(_LOOKS, [on, book.edition, looked.again_on, month])
        cursor.execute("VACUUM ANALYZE cylinders_knowndue, cylinders_duelook")
    place = growth.settled_by_now()
    DueReach.objects.create(place=place, edition=book.edition, on=on, turn="filled")
    _check(filled, book)


def _check(filled: world.World, book: due_index.RuleBook) -> None:
    drawn = random.Random(1).sample(range(1, filled.count + 1), min(SAMPLE, filled.count))
    for cylinder in Cylinder.objects.filter(pk__in=drawn):
        problems = list(due_index.problems_of(cylinder, book))
        if problems or due_index.old(book, on=makers.TODAY).filter(pk=cylinder.pk).exists():
            raise AssertionError(f"the copied index is wrong: {problems}")
