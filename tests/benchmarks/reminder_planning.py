"""Planning 100,000 reminders on PostgreSQL, against one INSERT ... SELECT of the same rows.

The floor is what a database does at its best: one statement out of the same index of due days, into
the same table, with no row there before. Both must add the same rows, or nothing is timed. What it
costs to ask the rules first, about every cylinder at once, is told beside it: in a shop that work
is spread over the days on which something happens to a cylinder.
"""

import datetime as dt
import random
import sys
import time
from collections.abc import Iterator
from hashlib import sha256

from tests.benchmarks import ground
from tests.benchmarks.runner import COMMITS, Case, Result, Target, race

ON = dt.date(2026, 11, 25)
CYLINDERS, CUSTOMERS = 50_000, 20_000
REMINDERS = 100_000

FLOOR = """
INSERT INTO cylinders_notice
  (cylinder_id, customer_id, duty, due, days_before, channel, occasion, send_on, state, attempts,
   lease_token, message_id, why)
SELECT d.cylinder_id, c.owner_id, d.duty, d.due, w.days, 'email', '', d.due - w.days, 'planned', 0,
   '', '', ''
FROM cylinders_knowndue d
JOIN cylinders_cylinder c ON c.id = d.cylinder_id
JOIN cylinders_customer p ON p.id = c.owner_id
JOIN (VALUES {windows}) AS w(days, first, last) ON d.due BETWEEN w.first AND w.last
WHERE c.life = 'in_service' AND p.email_consent AND NOT p.email_bounced AND p.email <> ''
ON CONFLICT DO NOTHING
"""
ROWS = """
SELECT cylinder_id, customer_id, duty, due, days_before, channel, send_on, state
FROM cylinders_notice ORDER BY 1, 2, 3, 4, 5, 6, 7, 8
"""


def run(rounds: int | None = None) -> Iterator[Result]:
    """Yield the ratio to the floor, and that of a second run to the first."""
    with ground.database():
        fill()
        check_the_same_rows()
        yield from race(
            {
                "planned": Case(plan, before=empty),
                "one INSERT ... SELECT": Case(floor, before=empty),
                "planned again": Case(plan, before=planned),
            },
            [
                Target(
                    "reminders_planned",
                    *("planned", "one INSERT ... SELECT", 2.0),
                    f"{count():,} reminders of {CYLINDERS:,} cylinders",
                ),
                Target(
                    "reminders_planned_again",
                    *("planned again", "planned", 0.3),
                    "a second run, which adds none",
                ),
            ],
            rounds=rounds or COMMITS,
            slices=1,
        )


def fill() -> None:
    """Cylinders whose yearly duties end all over a year; the rules fill the index."""
    from cylinders.models import Customer, Cylinder, Shop  # noqa: PLC0415 - once Django is set up
    from cylinders.operations.reminders.indexing import look_again  # noqa: PLC0415 - the same

    rng = random.Random(1)
    Shop.objects.create(name="Slack Water Divers", time_zone="America/New_York")
    Customer.objects.bulk_create(
        (
            Customer(name=f"Odo {n}", email=f"odo{n}@example.org", email_consent=True)
            for n in range(CUSTOMERS)
        ),
        batch_size=5_000,
    )
    owners = list(Customer.objects.values_list("pk", flat=True))
    months = [f"{2025 + n // 12}-{n % 12 + 1:02d}" for n in range(8, 20)]
    Cylinder.objects.bulk_create(
        (
            Cylinder(
                owner_id=rng.choice(owners),
                authority="DOT",
                specification="3AL",
                service_pressure="3000",
                serial=f"S{n}",
                first_test="2008-06",
                requalified=f"20{rng.randint(21, 25)}-{rng.randint(1, 12):02d}",
                last_visual=rng.choice(months),
                last_valve_service=rng.choice(months),
            )
            for n in range(CYLINDERS)
        ),
        batch_size=5_000,
    )
    began = time.process_time()
    look_again(on=ON)
    analyze()
    took = time.process_time() - began
    sys.stderr.write(
        f"  (the rules asked about {CYLINDERS:,} cylinders: {took:.0f} s of this process)\n"
    )


def plan() -> None:
    """The service's own planning."""
    from cylinders.operations.reminders import planning  # noqa: PLC0415 - once Django is set up

    planning.plan(on=ON)


def planned() -> None:
    """Everything is there already."""
    if not count():
        plan()


def floor() -> None:
    """One statement."""
    from cylinders.operations.reminders.planning import AHEAD  # noqa: PLC0415 - the same
    from cylinders.rules import notices  # noqa: PLC0415 - once Django is set up

    windows = ", ".join(
        f"({one.days_before}, DATE '{one.first}', DATE '{one.last}')"
        for one in notices.windows(on=ON, ahead=AHEAD)
    )
    _sql(FLOOR.format(windows=windows))


def check_the_same_rows() -> None:
    """Both ways add the same rows, at least as many as are promised, and a second run none."""
    empty()
    floor()
    by_floor = _digest()
    empty()
    plan()
    if _digest() != by_floor:
        raise AssertionError("the two ways plan different rows")
    before = count()
    plan()
    if count() != before or before < REMINDERS:
        raise AssertionError(f"{before} rows, then {count()}; at least {REMINDERS} once")


def empty() -> None:
    """No reminders, and a table as after the nightly clean-up."""
    _sql("TRUNCATE cylinders_notice CASCADE")


def analyze() -> None:
    """Statistics as autovacuum keeps them."""
    _sql("ANALYZE")


def count() -> int:
    """How many reminders there are."""
    from cylinders.models import Notice  # noqa: PLC0415 - once Django is set up

    return Notice.objects.count()


def _digest() -> str:
    from django.db import connection  # noqa: PLC0415 - once Django is set up

    with connection.cursor() as cursor:
        cursor.execute(ROWS)
        return sha256(repr(cursor.fetchall()).encode()).hexdigest()


def _sql(statement: str) -> None:
    from django.db import connection  # noqa: PLC0415 - once Django is set up

    with connection.cursor() as cursor:
        cursor.execute(statement)
