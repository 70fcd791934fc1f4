"""Random alterations behind the triggers: of events, of heads, of the rows that events explain.

    python -m tests.faults.alterations --count 10000 [--seed 7]

Each is made in a world of a few cylinders, looked for by ``verify``, and undone. What only a seal
can show (a tail cut off with its head set back) is in :mod:`tests.cylinders.test_chain`.
"""

# ruff: noqa: S608 - the names of tables and columns are this module's own

import argparse
import json
import os
import random
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any

import django
from django.db import IntegrityError, connection, transaction

_EVENTS = "cylinders_serviceevent"
#: table, column, values that it may come to have
_ROWS: tuple[tuple[str, str, tuple[object, ...]], ...] = (
    ("cylinders_cylinder", "life", ("in_service", "rejected", "condemned")),
    ("cylinders_cylinder", "serial", ("KX40411", "")),
    ("cylinders_cylinder", "service_pressure", ("3300", "")),
    ("cylinders_cylinder", "requalified", ("2026-10", "")),
    ("cylinders_cylinder", "requalified_rin", ("Z111", "")),
    ("cylinders_cylinder", "requalified_symbol", ("+",)),
    ("cylinders_cylinder", "last_visual", ("2026-09", "")),
    ("cylinders_cylinder", "last_thread_examination", ("2026-09",)),
    ("cylinders_cylinder", "last_oxygen_clean", ("2026-09",)),
    ("cylinders_cylinder", "last_valve_service", ("2026-09",)),
    ("cylinders_cylinder", "oxygen_clean", (True, False)),
    ("cylinders_cylinder", "use_gas", ("nitrox", "oxygen")),
    ("cylinders_cylinder", "events_held", (0, 3, 99)),
    ("cylinders_cylinder", "head", ("", "00")),
    ("cylinders_workorder", "stage", ("received", "back", "ready", "condemned")),
    ("cylinders_part", "whereabouts", ("bagged", "fitted", "accounted")),
    ("cylinders_testrecord", "state", ("held", "attached", "dismissed")),
    ("cylinders_testrecord", "verdict", ("passed", "held", "condemned")),
    ("cylinders_testrecord", "body", ("{}",)),
    ("cylinders_testrecord", "answer", ('{"verdict": "passed", "checks": []}',)),
    ("cylinders_cylinder", "decoded", ('{"marks": [{"refillable": true}]}',)),
    ("cylinders_fill", "oxygen_fraction", ("0.36", "0.20")),
    ("cylinders_fill", "pressure", ("3300",)),
    ("cylinders_fill", "pressure_unit", ("bar",)),
    ("labels_tag", "state", ("minted", "live", "retired")),
    ("labels_tag", "kind", ("kit", "teardown")),
)
Row = dict[str, Any]


class Alterer:
    """Alters one thing at random, each time something else than it was."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)

    def alter(self) -> str:
        """Alter something; returns what, in words."""
        ways: tuple[Callable[[], str], ...] = (
            self.a_character,
            self.a_column,
            self.take_out,
            self.put_in,
            self.swap,
            self.write_anew,
            self.a_row,
            self.a_row,
            self.a_row,
        )
        return self.rng.choice(ways)()

    def a_character(self) -> str:
        """One character of the hashed text, or of its digest."""
        event, column = self._event(), self.rng.choice(("canonical", "canonical", "digest"))
        text = event[column]
        place = self.rng.randrange(len(text))
        others = [sign for sign in '09af"{}:,xé ' if sign != text[place]]
        self._set(event, column, text[:place] + self.rng.choice(others) + text[place + 1 :])
        return f"a character of {column}"

    def a_column(self) -> str:
        """A column beside the text."""
        event = self._event()
        column, value = self.rng.choice(
            (
                ("kind", "cylinder:handover:ready!"),
                ("actor", "staff:99"),
                ("sequence", 900),
                ("happened_at", "2020-01-01 00:00:00+00:00"),
            )
        )
        self._set(event, column, value)
        return f"the column {column}"

    def take_out(self) -> str:
        """One event is removed."""
        self._run(f"DELETE FROM {_EVENTS} WHERE id = %s", self._event()["id"])
        return "an event taken out"

    def put_in(self) -> str:
        """One event more, made well by somebody who knows how, in the place after the last."""
        event = self._event()
        content = json.loads(event["canonical"])
        last = self._last(event["cylinder_id"])
        content |= {"sequence": last["sequence"] + 1, "previous": last["digest"]}
        self._insert(event, content)
        return "an event put in"

    def swap(self) -> str:
        """Two events of one cylinder change places."""
        one = self._event()
        others = [row for row in self._all() if row["cylinder_id"] == one["cylinder_id"]]
        two = self.rng.choice([row for row in others if row["id"] != one["id"]])
        for here, there in ((one, two), (two, one)):
            for column in ("canonical", "digest", "kind", "happened_at", "actor"):
                self._set(here, column, there[column])
        return "two events swapped"

    def write_anew(self) -> str:
        """An event says something else, and its digest and columns agree with it."""
        event = self._event()
        content = json.loads(event["canonical"]) | {"by": "staff:99"}
        text = _chain().canonical(content)
        self._set(event, "canonical", text)
        self._set(event, "digest", _chain().digest_of(text))
        self._set(event, "actor", "staff:99")
        return "an event written anew"

    def a_row(self) -> str:
        """A row without an event."""
        table, column, values = self.rng.choice(_ROWS)
        rows = self._select(f"SELECT id, {column} FROM {table} ORDER BY id")
        row = self.rng.choice(rows)
        others = [value for value in values if value != row[column]]
        self._run(
            f"UPDATE {table} SET {column} = %s WHERE id = %s", self.rng.choice(others), row["id"]
        )
        return f"{table}.{column}"

    def _insert(self, event: Row, content: Row) -> None:
        text = _chain().canonical(content)
        columns = event | {
            "sequence": content["sequence"],
            "canonical": text,
            "digest": _chain().digest_of(text),
        }
        del columns["id"]
        names, marks = ", ".join(columns), ", ".join(["%s"] * len(columns))
        self._run(f"INSERT INTO {_EVENTS} ({names}) VALUES ({marks})", *columns.values())

    def _event(self) -> Row:
        return self.rng.choice(self._all())

    def _all(self) -> list[Row]:
        return self._select(f"SELECT * FROM {_EVENTS} ORDER BY id")

    def _last(self, cylinder: int) -> Row:
        return [row for row in self._all() if row["cylinder_id"] == cylinder][-1]

    def _set(self, event: Row, column: str, value: object) -> None:
        self._run(f"UPDATE {_EVENTS} SET {column} = %s WHERE id = %s", value, event["id"])

    def _select(self, statement: str) -> list[Row]:
        with connection.cursor() as cursor:
            cursor.execute(statement)
            names = [column[0] for column in cursor.description]
            return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]

    def _run(self, statement: str, *values: Any) -> None:
        with connection.cursor() as cursor:
            cursor.execute(statement, values)


def _chain() -> Any:
    from cylinders import chain  # noqa: PLC0415 - beside the others that need Django set up

    return chain


def make_world() -> None:
    """A few cylinders with everything that an event can explain; run in a database of its own."""
    from labels.operations import binding  # noqa: PLC0415 - Django must be set up first
    from tests import makers  # noqa: PLC0415 - the same
    from tests.faults import worlds  # noqa: PLC0415 - the same

    order = worlds.home()
    worlds.receive(order, lab_reference="NG-2026-0500", stamp=worlds.OTHER_MONTH)
    worlds.ready()
    binding.replace(code=worlds.tagged(), host=worlds.HOST, reason="torn", **worlds.WHO)
    worlds.fill(makers.receive(), 2000)


@contextmanager
def behind_the_triggers() -> Iterator[None]:
    """No trigger stands in the way."""
    from tests import append_only  # noqa: PLC0415 - the same

    if connection.vendor == "sqlite":
        append_only.lift()
    else:
        Alterer(0)._run("SET session_replication_role = replica")
    yield
    if connection.vendor == "sqlite":
        append_only.set_again()
    else:
        Alterer(0)._run("SET session_replication_role = DEFAULT")


def found_of(count: int, *, seed: int = 1) -> tuple[Counter[str], list[str]]:
    """Alter ``count`` times; returns how often what was altered, and what was not found."""
    from cylinders.queries.verification import verify  # noqa: PLC0415 - the same
    from labels.scanning import tag_problems  # noqa: PLC0415 - the same

    assert verify().ok
    assert not list(tag_problems())
    alterer, done, missed = Alterer(seed), Counter[str](), []
    with behind_the_triggers():
        while done.total() < count:
            # What the database itself refuses was not made, and is not counted.
            with suppress(IntegrityError), transaction.atomic():
                what = alterer.alter()
                done[what] += 1
                if verify().ok and not list(tag_problems()):
                    missed.append(f"{done.total()}: {what}")
                transaction.set_rollback(True)
    assert verify().ok
    return done, missed


def main() -> None:
    """Run as many as are asked for, in a database of its own."""
    words = argparse.ArgumentParser(prog="python -m tests.faults.alterations")
    words.add_argument("--count", type=int, default=10_000)
    words.add_argument("--seed", type=int, default=1)
    chosen = words.parse_args()
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    django.setup()

    from django.test.utils import setup_databases, teardown_databases  # noqa: PLC0415 - the same

    databases = setup_databases(verbosity=0, interactive=False)
    began = time.monotonic()
    try:
        make_world()
        done, missed = found_of(chosen.count, seed=chosen.seed)
    finally:
        teardown_databases(databases, verbosity=0)
    for what, often in sorted(done.items()):
        sys.stdout.write(f"{often:6} {what}\n")
    found = chosen.count - len(missed)
    seconds = time.monotonic() - began
    sys.stdout.write("\n".join([*missed, f"{found} of {chosen.count} found in {seconds:.0f} s\n"]))
    sys.exit(bool(missed))


if __name__ == "__main__":
    main()
