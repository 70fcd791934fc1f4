"""A national scheme on one database: plans that never read a big table from end to end.

It fills PostgreSQL, asks the questions that are asked all day, tells what each takes and how it is
planned, and checks every chain: ``bench scale`` with a hundred thousand cylinders,
``bench scale --cylinders 1000000`` with a million and eight million events. With ten thousand the
plans are an ordinary test (``test_scale.py``).
"""

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
from cylinders.operations.reminders.claiming import claim
from cylinders.queries.board import board
from cylinders.queries.find import likely_duplicates, search
from cylinders.queries.shop_day import shop_day, zone_of
from labels import glance
from labels.models import Tag
from labels.scanning import identify
from tests import makers
from tests.benchmarks import ground, world
from tests.benchmarks.runner import Result, gate

EVENTS = 8
CYLINDERS = int(os.environ.get("BENCH_CYLINDERS", "100000"))  # set by the command
#: one in five hundred is in the house, one in a hundred due; the others were tested lately
MONTHS = ("2021-11", *["2025-06"] * 99)
BIG = frozenset(
    {
        "cylinders_serviceevent",
        "cylinders_cylinder",
        "cylinders_workorder",
        "cylinders_part",
        "cylinders_notice",
        "cylinders_knowndue",
        "labels_tag",
    }
)
SLOWEST = 0.2  # seconds; a search of one serial among a million may take so long


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that is asked all day: its name, and the asking."""

    name: str
    ask: Callable[[], object]


def questions(filled: world.World) -> list[Question]:
    """The ten, about a cylinder in the middle."""
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
    ]


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
    filled = world.fill(world.live_once(events=events), count, months=MONTHS)
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE cylinders_workorder SET closed_at = moved_at, stage = 'collected'"
            " WHERE cylinder_id % 500 <> 0"
        )
        cursor.execute(_MESSAGES)
        cursor.execute("VACUUM ANALYZE cylinders_workorder, cylinders_notice")
    return filled


def whole_tables(count: int) -> dict[str, list[str]]:
    """For each question the big tables that are read from end to end, in a world of that size."""
    with ground.database():
        filled = prepare(count)
        return {question.name: plan_of(question) for question in questions(filled)}


def results(count: int, *, events: int = EVENTS) -> Iterator[Result]:
    """Plans, times, size and chains of a world of that size."""
    began = time.monotonic()
    filled = prepare(count, events=events)
    size = f"{count:,} cylinders, {count * events:,} events, filled in"
    sys.stderr.write(f"  ({size} {time.monotonic() - began:.0f} s)\n")
    for question in questions(filled):
        whole = plan_of(question)
        took = statistics.median(_timed(question.ask) for _ in range(15))
        name = "scale_" + "_".join(question.name.replace("'", "").split())
        yield gate(
            name,
            measured=1_000.0 if whole else took,
            at_most=SLOWEST,
            floor="no big table from end to end, 200 ms",
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


def _timed(ask: Callable[[], object]) -> float:
    began = time.perf_counter()
    ask()
    return time.perf_counter() - began


def run(rounds: int | None = None) -> Iterator[Result]:
    """As many cylinders as ``--cylinders`` says; every figure is a gate, not a race."""
    del rounds
    with ground.database():
        yield from results(CYLINDERS)
