"""A lab's file done by workers that are killed, each at another row, on a fresh database.

    python -m tests.faults.lab_file LINES STEP

Prints as JSON what is there at the end: kills, outcomes, what was refused and why, and how many
records and lines a second sending adds.
"""

import json
import os
import signal
import sys
from collections import Counter
from collections.abc import Collection, Iterator
from typing import Any
from unittest.mock import patch

import django

BAD = 7


def content(lines: int) -> tuple[str, dict[int, str]]:
    """A file with seven bad lines, spread over it; which, and the code of each."""
    from tests.api.v1.lab import body  # noqa: PLC0415 - after Django

    wrong: tuple[tuple[str, dict[str, Any]], ...] = (
        ("invalid_body", {"use": "?"}),
        ("invalid_body", {"date": "2026-11-31"}),
        ("cylinder_not_found", {}),
        ("invalid_body", {"hold_seconds": "long"}),
        ("tested_in_future", {"date": "2027-03-01"}),
        ("invalid_body", {"x": 1}),
        ("invalid_body", {"total_expansion": None}),
    )
    sent = [body(f"ZZ{n}", f"B-{n}") for n in range(lines)]
    told = {}
    for place, (code, changes) in enumerate(wrong):
        number = place * lines // BAD
        sent[number] |= changes
        if code == "cylinder_not_found":
            sent[number]["cylinder"]["serial"] = "NEVERSEEN"
        told[number + 1] = code
    return "\n".join(json.dumps(one) for one in sent), told


def killed_at(batch: int, row: int, bad: Collection[int]) -> bool:
    """Let a worker of its own go on until it has read that row; whether it was killed there."""
    from django.db import connection  # noqa: PLC0415 - after Django

    from api import posted_records  # noqa: PLC0415 - the same
    from cylinders.models import set_at_once  # noqa: PLC0415 - the same

    connection.close()
    worker = os.fork()
    if worker:
        _pid, status = os.waitpid(worker, 0)
        return os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    read, store = posted_records._read_or_wrong, set_at_once.insert_each

    def dies_reading(text: str, **at: Any) -> Any:
        if f'"B-{row}"' in text:
            os.kill(os.getpid(), signal.SIGKILL)
        return read(text, **at)

    def dies_storing(rows: Any, *numbers: Any) -> Iterator[Any]:
        yield from store(rows, *numbers)
        if any(getattr(one, "lab_reference", "") == f"B-{row}" for one in rows):
            os.kill(os.getpid(), signal.SIGKILL)

    # Once on reading the row, once when its record is written and its event is not.
    how: tuple[Any, str, Any] = (set_at_once, "insert_each", dies_storing)
    if row % 2 == 0 or row + 1 in bad:
        how = (posted_records, "_read_or_wrong", dies_reading)
    with patch.object(*how):
        work(batch)
    os._exit(0)


def work(batch: int) -> None:
    """Go on with the batch to its end."""
    import datetime as dt  # noqa: PLC0415 - only here

    from api.batches import running  # noqa: PLC0415 - after Django
    from tests import makers  # noqa: PLC0415 - the same

    until = makers.NOON + dt.timedelta(hours=1)
    while not running.go_on(batch_id=batch, now=lambda: makers.NOON, until=until):
        pass


def main(lines: int, step: int) -> None:
    """Make the world, kill, finish, send again, tell."""
    django.setup()
    from django.core.management import call_command  # noqa: PLC0415 - after Django

    call_command("migrate", verbosity=0, interactive=False)
    from api.batches import running  # noqa: PLC0415 - the same
    from cylinders.models import TestRecord  # noqa: PLC0415 - the same
    from cylinders.queries.verification import verify  # noqa: PLC0415 - the same
    from tests import makers  # noqa: PLC0415 - the same
    from tests.api.v1.lab import send_to  # noqa: PLC0415 - the same

    makers.technician_one()
    lab, owner = makers.make_lab(), makers.make_customer("Many Tanks")
    orders = [makers.receive(owner, serial=f"ZZ{number}") for number in range(lines)]
    for order in orders:
        makers.take_down(order)
    send_to(lab, *orders)
    sent, expected = content(lines)
    given: dict[str, Any] = {"lab_id": lab.pk, "content": sent, "dry_run": False, "at": makers.NOON}
    batch, _new = running.take(**given)
    kills, torn = 0, 0
    for row in range(0, lines, step):
        kills += killed_at(batch.pk, row, expected)
        stored = batch.lines.filter(outcome="stored").count()
        torn += stored != TestRecord.objects.count()
    work(batch.pk)
    outcomes = Counter(batch.lines.values_list("outcome", flat=True))
    bad = batch.lines.exclude(outcome="stored")
    named = {line.number: line.code for line in bad if line.says}
    before = TestRecord.objects.count(), batch.lines.count()
    again, new = running.take(**given)
    work(again.pk)
    told = {
        "kills": kills,
        "torn": torn,
        "outcomes": outcomes,
        "named": named == expected,
        "records": before[0],
        "again": [new, TestRecord.objects.count() - before[0], again.lines.count() - before[1]],
        "sound": verify().ok,
    }
    sys.stdout.write(json.dumps(told))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
