"""A world of any size: one real cylinder's life, lived through the service, then copied by COPY.

The first cylinder is dropped off, taken down and corrected by the operations themselves. Its rows
and events are then repeated under other numbers, serials, tags and months, each history with a
chain of its own: ``verify`` finds every copy whole. PostgreSQL only; the database is emptied first.
"""

import datetime as dt
import hashlib
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import connection

from cylinders.facts import Actor
from cylinders.models import Shop
from cylinders.operations import correction
from labels import codes
from labels.operations import binding
from labels.operations.binding import Thing
from tests import makers

#: numbers and words of the first life that a copy has its own of; nothing else contains them
CYLINDER, ORDER, VALVE, BOOT, OWNER, TAG = (700_000_000 + n for n in range(1, 7))
SERIAL, MONTH = "ZQSERIALQZ", "2021-11"
OWNERS = 1_000
FEWEST_EVENTS = 6
BY = Actor("staff", "1")
EVENTS = "cylinders_serviceevent"
#: each table with the number its first row gets
_TABLES = {
    "cylinders_customer": OWNER,
    "cylinders_cylinder": CYLINDER,
    "cylinders_workorder": ORDER,
    "cylinders_part": VALVE,
    "labels_tag": TAG,
}


@dataclass(frozen=True, slots=True)
class Life:
    """The lines of the first life by table, ready for COPY, and the texts of its events."""

    columns: dict[str, str]
    lines: dict[str, list[str]]
    texts: list[str]


@dataclass(slots=True)
class World:
    """How a life is copied: ``months`` of last requalification are dealt out in turn."""

    life: Life
    count: int
    months: Sequence[str] = (MONTH,)
    codes: list[str] = field(default_factory=list)
    heads: list[str] = field(default_factory=list)

    def own(self, number: int) -> dict[str, Any]:
        """What the copy ``number`` (from 0) has of its own."""
        return {
            "cylinder": number + 1,
            "valve": 2 * number + 1,
            "boot": 2 * number + 2,
            "owner": 1 + number % OWNERS,
            "serial": f"KX{number:08d}",
            "code": self.codes[number],
            "month": self.months[number % len(self.months)],
        }

    def events(self) -> Iterator[str]:
        """The lines of all events; the last digest of each history is kept in ``heads``."""
        made = list(zip(self.life.texts, self.life.lines[EVENTS], strict=True))
        number_of_event = 0
        for number in range(self.count):
            own = self.own(number)
            own["previous"] = ""
            for text_of, line_of in made:
                number_of_event += 1
                text = text_of % own
                own["event"] = number_of_event
                own["text"] = text.replace("\\", "\\\\")
                own["digest"] = hashlib.sha256(b"\x00" + text.encode()).hexdigest()
                yield line_of % own
                own["previous"] = own["digest"]
            self.heads.append(own["previous"])

    def rows(self, table: str) -> Iterator[str]:
        """The lines of one table; the heads must be known."""
        lines = self.life.lines[table]
        copies = min(self.count, OWNERS) if table == "cylinders_customer" else self.count
        for number in range(copies):
            own = self.own(number) | {"digest": self.heads[number]}
            for line in lines:
                yield line % own


def live_once(*, events: int = FEWEST_EVENTS) -> Life:
    """Live one life of so many events in an empty database, and read it back."""
    with connection.cursor() as cursor:
        for table, first in _TABLES.items():
            cursor.execute(
                f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), {first}, false)"
            )
    Shop.objects.get_or_create(name="Slack Water Divers", phone="555-0100", email="a@example.org")
    makers.technician_one()
    order = makers.receive(serial=SERIAL, requalified=MONTH)
    makers.take_down(order)
    thing = Thing.cylinder(makers.cylinder_of(order))
    tag = binding.issue(thing=thing, host="CYL.EXAMPLE", at=makers.NOON, by=BY)
    for number in range(events - FEWEST_EVENTS):
        correction.correct_marking(
            cylinder_id=CYLINDER,
            field="neck_thread",
            becomes=("M25x2", "3/4-14 NPSM")[number % 2],
            reason="read again",
            at=makers.NOON + dt.timedelta(minutes=number + 1),
            by=BY,
        )
    return _read_back(tag.code)


def fill(life: Life, count: int, *, months: Sequence[str] = (MONTH,)) -> World:
    """Empty the database of cylinders and give ``count`` of them that life."""
    source = random.Random(1)
    drawn = [codes.new_code(lambda: source.getrandbits(codes.RANDOM_BITS)) for _ in range(count)]
    world = World(life, count, months, drawn)
    with connection.cursor() as cursor:
        # Neither the history's own triggers nor a look at each key: the copies are as good as it.
        cursor.execute("SET session_replication_role = replica")
        cursor.execute(f"TRUNCATE {EVENTS}, {', '.join(_TABLES)} CASCADE")
        _copy(cursor, EVENTS, world.events(), life)
        for table in _TABLES:
            _copy(cursor, table, world.rows(table), life)
        for table in (EVENTS, *_TABLES):
            cursor.execute(
                f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), max(id)) FROM {table}"  # noqa: S608 - our own tables
            )
        cursor.execute("SET session_replication_role = DEFAULT")
        cursor.execute("VACUUM ANALYZE")
    return world


def sizes() -> tuple[int, int]:
    """Bytes of all that is hashed (texts and digests), and of the tables with their indexes."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT sum(octet_length(canonical) + 32) FROM {EVENTS}")  # noqa: S608 - our own table
        hashed = int(cursor.fetchone()[0])
        tables = [table for table in (EVENTS, *_TABLES) if table != "cylinders_customer"]
        cursor.execute(
            "SELECT sum(pg_total_relation_size(name::regclass)) FROM unnest(%s::text[]) name",
            [tables],
        )
        return hashed, int(cursor.fetchone()[0])


def _copy(cursor: Any, table: str, lines: Iterator[str], life: Life) -> None:
    with cursor.copy(f"COPY {table} ({life.columns[table]}) FROM STDIN") as door:
        gathered: list[str] = []
        for line in lines:
            gathered.append(line)
            if len(gathered) == 2_000:
                door.write("".join(gathered))
                gathered.clear()
        door.write("".join(gathered))


def _read_back(code: str) -> Life:
    columns: dict[str, str] = {}
    lines: dict[str, list[str]] = {}
    texts: list[str] = []
    with connection.cursor() as cursor:
        for table in (EVENTS, *_TABLES):
            cursor.execute(f"SELECT * FROM {table} ORDER BY id")  # noqa: S608 - our own tables
            names = [column.name for column in cursor.description]
            columns[table] = ", ".join(f'"{name}"' for name in names)
            rows = [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]
            lines[table] = [_line(row, code, event=table == EVENTS) for row in rows]
            if table == EVENTS:
                befores = ["", *(row["digest"] for row in rows)]
                texts = [
                    _template(row["canonical"], code, before)
                    for row, before in zip(rows, befores, strict=False)
                ]
    return Life(columns, lines, texts)


def _line(row: dict[str, Any], code: str, *, event: bool) -> str:
    if event:
        row = row | {"id": "<event>", "canonical": "<text>", "digest": "<digest>"}
    line = _template("\t".join(_cell(value) for value in row.values()), code, row.get("head", ""))
    for name in ("event", "text", "digest"):
        line = line.replace(f"<{name}>", f"%({name})s")
    return line.replace("%(previous)s", "%(digest)s") + "\n" if not event else line + "\n"


def _cell(value: Any) -> str:
    if value is None:
        return "\\N"
    if isinstance(value, bool):
        return "t" if value else "f"
    return str(value).replace("\\", "\\\\").replace("\n", "\\n").replace("\t", "\\t")


def _template(text: str, code: str, previous: str) -> str:
    """``text`` with a place for each thing that a copy has its own of."""
    made = text.replace("%", "%%")
    for known, name in (
        (str(CYLINDER), "cylinder"),
        (str(ORDER), "cylinder"),  # one visit each, under the number of its cylinder
        (str(VALVE), "valve"),
        (str(BOOT), "boot"),
        (str(OWNER), "owner"),
        (str(TAG), "cylinder"),
        (SERIAL, "serial"),
        (code, "code"),
        (MONTH, "month"),
        (previous, "previous"),
    ):
        made = made.replace(known, f"%({name})s") if known else made
    return made
