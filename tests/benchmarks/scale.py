"""A national scheme on one database: plans that never read a big table from end to end.

It fills PostgreSQL, asks the questions that are asked all day, tells what each takes and how it is
planned, and checks every chain: ``bench scale`` with a hundred thousand cylinders,
``bench scale --cylinders 1000000`` with a million and eight million events. Planning the reminders
is raced against the same in a hundredth of that world, with as many that are due. With ten thousand
the plans are an ordinary test (``test_scale.py``).
"""

import datetime as dt
import itertools
import json
import os
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext

from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Cylinder, MessageKind, WorkOrder
from cylinders.operations import correction
from cylinders.operations.reminders import indexing, planning
from cylinders.operations.reminders.claiming import claim
from cylinders.queries.board import board
from cylinders.queries.due_counts import Count, MonthsDue, due_count, due_months
from cylinders.queries.due_in_order import START, DuePage, Place, ask, before, due_page
from cylinders.queries.find import likely_duplicates, search
from cylinders.queries.shop_day import shop_day, zone_of
from cylinders.rules.month import Month
from labels import glance
from labels.models import Tag
from labels.scanning import identify
from tests import makers
from tests.benchmarks import due_days, ground, world
from tests.benchmarks.runner import COMMITS, Case, Result, Target, gate, race

EVENTS = 8
CYLINDERS = int(os.environ.get("BENCH_CYLINDERS", "100000"))  # set by the command
#: a hundredth of the world, in which every fourth cylinder is due; as many are due in the whole
PART, DUE = 100, 4
#: months of tests whose duties all lie so far ahead that no notice of them goes yet
_FAR = tuple(f"2026-{month:02d}" for month in range(4, 11))
BIG = frozenset(
    {
        "cylinders_serviceevent",
        "cylinders_cylinder",
        "cylinders_workorder",
        "cylinders_part",
        "cylinders_notice",
        "cylinders_knowndue",
        "cylinders_duelook",
        "labels_tag",
    }
)
SLOWEST = 0.2  # seconds; a search of one serial among a million may take so long
SLOWEST_LIST = 0.3  # the list of what is due, as a page


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that is asked all day: its name, the asking, and within how many seconds."""

    name: str
    ask: Callable[[], object]
    within: float = SLOWEST


def questions(filled: world.World) -> list[Question]:
    """All of them, about a cylinder in the middle, on a day in which some have changed."""
    middle = filled.count // 2 + 1
    code, serial = filled.codes[middle - 1], f"KX{middle - 1:08d}"
    day = shop_day(makers.NOON, zone=zone_of(None))
    by_stamp = Cylinder.objects.filter(serial=serial, manufacturer_mark="M9999")
    return [
        Question("public page behind a tag", lambda: glance.at(code)),
        Question("scan at the bench", lambda: identify(code, hosts=["CYL.EXAMPLE"])),
        Question("history of a cylinder", lambda: history.timeline(middle)),
        Question("its open visit", lambda: list(_open(middle))),
        Question("its parts", lambda: list(Cylinder(pk=middle).parts.all())),
        Question("its live tag", lambda: list(Tag.objects.filter(cylinder=middle, state="live"))),
        Question("the board", lambda: board(now=makers.NOON)),
        Question("search by serial", lambda: list(search(serial[:9].lower()))),
        Question("likely duplicates", lambda: list(likely_duplicates(serial=serial.lower()))),
        Question("cylinder of a lab's record", lambda: list(by_stamp.all())),
        Question("what happened since", lambda: list(_since(middle, filled))),
        Question(
            "messages to send",
            lambda: claim(kind=MessageKind.REMINDERS, at=makers.NOON, day=day),
        ),
        Question("what is due", lambda: due(START), SLOWEST_LIST),
        Question("what is due, far behind", lambda: due(Place(None, middle)), SLOWEST_LIST),
        Question("what is due, from today", lambda: due(before(makers.TODAY)), SLOWEST_LIST),
        Question("months ahead", months_ahead, SLOWEST_LIST),
        Question("index kept", lambda: indexing.look_again(on=makers.TODAY)),
    ]


def due(after: Place) -> tuple[DuePage, Count]:
    """What the page of the list asks: where it begins, and how much there is in all."""
    until = makers.TODAY + dt.timedelta(days=365)
    asked = ask(on=makers.TODAY, until=until)
    page = due_page(asked, on=makers.TODAY, until=until, after=after)
    if not page.whole or not page.items:
        raise AssertionError("the page is not whole, or nothing is due: that is not measured here")
    return page, due_count(asked, until=until)


def months_ahead() -> MonthsDue:
    """What the page of the months asks."""
    months = [Month.of(makers.TODAY).plus_months(number) for number in range(12)]
    return due_months(ask(on=makers.TODAY, until=months[-1].last_day), months)


def _open(number: int) -> Any:
    return WorkOrder.objects.filter(cylinder=number, closed_at__isnull=True)


def _since(number: int, filled: world.World) -> Any:
    last = filled.count * len(filled.life.texts)
    return history.since(last - 1_000, cylinders=[number], kinds=[Kind.RECEIVED])


def plan_of(question: Question) -> list[str]:
    """The big tables that are read from end to end to answer it."""
    with CaptureQueriesContext(connection) as asked:
        question.ask()
    read: list[str] = []
    for query in asked.captured_queries:
        sql = query["sql"]
        if sql.startswith("EXECUTE glance"):
            code = sql.split("'")[1]
            sql = glance.statement().replace("%s", f"'{code}'")
        if sql.lstrip("( ").upper().startswith("SELECT"):
            with connection.cursor() as cursor:
                cursor.execute("EXPLAIN (FORMAT JSON) " + sql.replace("%", "%%"), [])
                told = cursor.fetchone()[0]
            plan = json.loads(told) if isinstance(told, str) else told
            read += _whole(plan[0]["Plan"])
    return read


def _whole(node: dict[str, Any]) -> Iterator[str]:
    if node["Node Type"] == "Seq Scan" and node.get("Relation Name") in BIG:
        yield str(node["Relation Name"])
    for inner in node.get("Plans", []):
        yield from _whole(inner)


#: each cylinder was written about a year ago; one in a thousand is to be written about today
_MESSAGES = """
INSERT INTO cylinders_notice
  (cylinder_id, customer_id, duty, due, days_before, channel, occasion, send_on, state, attempts,
   lease_token, message_id, why, settled_at)
SELECT id, owner_id, 'requalification', date '2025-11-30', 30, 'email', '', date '2025-10-31',
   'sent', 1, '', 'm' || id, '', timestamptz '2025-10-31 12:00+00'
FROM cylinders_cylinder
UNION ALL
SELECT id, owner_id, 'requalification', date '2026-11-30', 5, 'email', '', date '2026-11-25',
   'planned', 0, '', '', '', NULL
FROM cylinders_cylinder WHERE id % 1000 = 0
"""


def prepare(count: int, *, events: int = EVENTS) -> world.World:
    """Fill the database; all but one visit in five hundred are closed."""
    small = max(1, min(count, CYLINDERS // PART))
    every = DUE * max(1, count // small)
    months = ["2021-11", *itertools.islice(itertools.cycle(_FAR), every - 1)]
    filled = world.fill(world.live_once(events=events), count, months=months)
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE cylinders_workorder SET closed_at = moved_at, stage = 'collected'"
            " WHERE cylinder_id % 500 <> 0"
        )
        cursor.execute(_MESSAGES)
        cursor.execute("VACUUM ANALYZE cylinders_workorder, cylinders_notice")
    due_days.fill(filled)
    return filled


def some_change(filled: world.World, *, times: int = 400) -> None:
    """So many cylinders are corrected: the index cannot speak for them until it is kept."""
    for number in range(times):
        correction.correct_marking(
            cylinder_id=1 + number * (filled.count // times),
            field="alloy",
            becomes=("6351-T6", "6061-T6")[filled.count % 2],
            reason="read again",
            at=makers.NOON,
            by=world.BY,
        )


def whole_tables(count: int) -> dict[str, list[str]]:
    """For each question the big tables that are read from end to end, in a world of that size."""
    with ground.database():
        filled = prepare(count)
        some_change(filled, times=20)
        return {question.name: plan_of(question) for question in questions(filled)}


def results(count: int, *, events: int = EVENTS) -> Iterator[Result]:
    """Plans, times, size and chains of a world of that size."""
    began = time.monotonic()
    filled = prepare(count, events=events)
    size = f"{count:,} cylinders, {count * events:,} events, filled in"
    sys.stderr.write(f"  ({size} {time.monotonic() - began:.0f} s)\n{table_sizes(count)}")
    yield from planning_race(count)
    some_change(filled)
    for question in questions(filled):
        whole = plan_of(question)
        took = statistics.median(_timed(question.ask) for _ in range(15))
        name = "scale_" + "_".join(question.name.replace("'", "").split())
        yield gate(
            name,
            measured=1_000.0 if whole else took,
            at_most=question.within,
            floor=f"no big table from end to end, {question.within * 1000:.0f} ms",
            what=f"{took * 1000:.1f} ms {'; reads all of ' + ', '.join(whole) if whole else ''}",
        )
    began = time.monotonic()
    broken = len(list(history.quick_problems()))
    sys.stderr.write(f"  (all chains checked in {time.monotonic() - began:.0f} s)\n")
    yield gate("scale_chains", measured=broken, at_most=0.5, floor="none", what="broken chains")
    hashed, stored = world.sizes()
    sys.stderr.write(
        f"  ({stored / count / 1000:.1f} kB a cylinder, {hashed / count:.0f} hashed)\n"
    )


def planning_race(count: int) -> Iterator[Result]:
    """Planning in this world against a hundredth of it, with as many cylinders that are due."""
    big, small = connection.settings_dict["NAME"], "bench_part"
    added: dict[str, set[int]] = {big: set(), small: set()}

    def plan_in(name: str) -> Case:
        def before() -> None:
            ground._go_to(name)
            with connection.cursor() as cursor:
                cursor.execute("DELETE FROM cylinders_notice WHERE state = 'planned'")

        return Case(lambda: added[name].add(planning.plan(on=makers.TODAY)), before=before)

    with ground.database(small):
        prepare(count // PART)
        yield from race(
            {"whole": plan_in(big), "a hundredth": plan_in(small)},
            [
                Target(
                    "scale_planning",
                    *("whole", "a hundredth", 1.5),
                    f"reminders planned among {count:,} cylinders and {count // PART:,}",
                )
            ],
            rounds=COMMITS,
            slices=1,
        )
        if added[big] != added[small] or 0 in added[big]:
            raise AssertionError(f"not as many were planned: {added}")
        ground._go_to(small)
    ground._go_to(big)


def table_sizes(count: int) -> str:
    """For people: bytes a cylinder of each big table, its heap and each of its indexes."""
    with connection.cursor() as cursor:
        cursor.execute(_SIZES)
        rows = cursor.fetchall()
    return "".join(f"  {size / count:9.1f} bytes a cylinder  {name}\n" for name, size in rows)


_SIZES = """
SELECT relname, pg_relation_size(oid) FROM pg_class
WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'i')
  AND pg_relation_size(oid) > 1000000
ORDER BY 2 DESC
"""


def _timed(ask: Callable[[], object]) -> float:
    began = time.perf_counter()
    ask()
    return time.perf_counter() - began


def run(rounds: int | None = None) -> Iterator[Result]:
    """As many cylinders as ``--cylinders`` says; every figure is a gate, not a race."""
    del rounds
    with ground.database():
        yield from results(CYLINDERS)
