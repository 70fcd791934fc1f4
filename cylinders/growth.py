"""Which histories have grown since a place in the order of all events.

A place is the number of an event. PostgreSQL numbers an event before its transaction ends, so an
event with a lower number may come later; behind a *settled* place none can come any more.
"""

import time

from django.db import connection

from cylinders.models.history import ServiceEvent

#: how often, and how many seconds apart, it is looked whether nobody writes at this moment
_TRIES, _BETWEEN = 10, 0.02
_WRITING = """
SELECT EXISTS (
  SELECT FROM pg_locks
  WHERE locktype = 'relation' AND database = (
    SELECT oid FROM pg_database WHERE datname = current_database()
  )
  AND relation = pg_get_serial_sequence('cylinders_serviceevent', 'id')::regclass
  AND mode = 'RowExclusiveLock' AND pid <> pg_backend_pid()
)
"""


def settled_by_now() -> int | None:
    """A place in front of which no event can come any more; None where somebody always writes.

    It keeps nobody waiting. Whoever drew a number holds a lock on the sequence of numbers until the
    transaction ends. So the place is read first, and is settled where nobody holds that lock
    afterwards: whoever drew a lower number has ended. On SQLite only one writes at a time. Must not
    run inside a transaction that writes events itself.
    """
    for _try in range(_TRIES):
        place = ServiceEvent.objects.order_by("-pk").values_list("pk", flat=True).first() or 0
        if not _somebody_writes():
            return place
        time.sleep(_BETWEEN)
    return None


def grown_since(place: int, *, most_events: int | None = None) -> frozenset[int] | None:
    """The cylinders with an event behind ``place``; None where those events are more than so many.

    Reads the events behind the place alone.
    """
    rows = ServiceEvent.objects.filter(pk__gt=place).order_by("pk")
    numbers = rows.values_list("cylinder_id", flat=True)
    if most_events is None:
        return frozenset(numbers.iterator(chunk_size=10_000))
    found = list(numbers[: most_events + 1])
    return frozenset(found) if len(found) <= most_events else None


def _somebody_writes() -> bool:
    if connection.vendor != "postgresql":
        return False
    with connection.cursor() as cursor:
        cursor.execute(_WRITING)
        return bool(cursor.fetchone()[0])
