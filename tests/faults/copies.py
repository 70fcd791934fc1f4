"""Takes copies of a service in use: ``python -m tests.faults.copies FOLDER COUNT``, prints JSON.

``whole`` copies have a whole database and whole chains that end where the rows say, and as many
events as the manifest names. ``raw_broken`` are plain copies of the files of a SQLite in use that
are not: the reason why there is a command. ``events`` are those of the first and the last copy.
"""

import json
import shutil
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import django

EVENTS = "SELECT canonical, digest FROM cylinders_serviceevent ORDER BY cylinder_id, sequence"
HEADS = "SELECT id, events_held, head FROM cylinders_cylinder"


def main(folder: Path, count: int) -> None:
    django.setup()

    from django.db import connection  # noqa: PLC0415 - Django is set up above
    from django.utils import timezone  # noqa: PLC0415 - the same

    from api.backups import taking  # noqa: PLC0415 - the same
    from api.backups.archive import reading  # noqa: PLC0415 - the same

    sqlite = connection.vendor == "sqlite"
    whole, raw_broken, events = 0, 0, []
    for _ in range(count):
        target = folder / "copy.zip"
        found = taking.take(target, at=timezone.now())
        with reading(target) as archive:
            copy = folder / "database"
            archive.extract(taking.SQLITE if sqlite else taking.POSTGRESQL, copy)
        rows, problems = of_sqlite(copy) if sqlite else of_dump(copy)
        whole += not problems and rows == found.events
        events.append(found.events)
        if sqlite:
            raw_broken += bool(of_plain_copy(Path(str(connection.settings_dict["NAME"])), folder))
        target.unlink()
        copy.unlink()
    sys.stdout.write(
        json.dumps({"whole": whole, "raw_broken": raw_broken, "events": [events[0], events[-1]]})
    )


def told(events: list[Any], heads: list[Any]) -> tuple[int, list[str]]:
    """How many events there are, and every break in their chains."""
    from cylinders import chain  # noqa: PLC0415 - the same

    each = (chain.Event(*row) for row in events)
    return len(events), list(chain.problems(each, [chain.Head(*row) for row in heads]))


def of_sqlite(path: Path) -> tuple[int, list[str]]:
    with closing(sqlite3.connect(path)) as line:
        [(said,)] = line.execute("PRAGMA integrity_check").fetchall()[:1]
        if said != "ok":
            return 0, [said]
        lost = line.execute("PRAGMA foreign_key_check").fetchall()
        count, found = told(line.execute(EVENTS).fetchall(), line.execute(HEADS).fetchall())
    return count, [*found, *map(str, lost)]


def of_dump(path: Path) -> tuple[int, list[str]]:
    import psycopg  # noqa: PLC0415 - the same
    from django.db import connection  # noqa: PLC0415 - the same

    from api.backups import taking, tools  # noqa: PLC0415 - the same

    with connection.cursor() as cursor:
        cursor.execute("DROP DATABASE IF EXISTS copied")
        cursor.execute("CREATE DATABASE copied")
    words = [word for word in taking.connection_words() if not word.startswith("--dbname")]
    tools.run("pg_restore", *words, "--dbname=copied", "--exit-on-error", str(path))
    known = connection.settings_dict
    with psycopg.connect(host=known["HOST"], user=known["USER"], dbname="copied") as line:
        return told(line.execute(EVENTS).fetchall(), line.execute(HEADS).fetchall())


def of_plain_copy(database: Path, folder: Path) -> list[str]:
    """What is wrong with a copy that was made file by file."""
    copy = folder / "plain.sqlite3"
    for ending in ("", "-wal"):
        shutil.copyfile(f"{database}{ending}", f"{copy}{ending}")
    try:
        found = of_sqlite(copy)[1]
    except sqlite3.DatabaseError as problem:
        found = [str(problem)]
    for path in left(folder):
        path.unlink()
    return found


def left(folder: Path) -> Iterator[Path]:
    return folder.glob("plain.sqlite3*")


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
