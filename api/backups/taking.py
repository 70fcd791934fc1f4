"""A copy is taken while people work: of one moment, whole, and counted."""

import datetime as dt
import io
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.storage import default_storage
from django.db import connection, connections, transaction

from api import environment, signing_keys
from api.backups import counted, since, tools
from api.backups.archive import Writer, writing
from api.backups.counted import Counted
from cylinders.models import StoredFile
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

COPY = "copy_being_taken"
SQLITE, POSTGRESQL = "database.sqlite3", "database.dump"
SECRET_KEY = "secret_key"  # noqa: S105 - the name of a member, not what is in it
_PAGES_AT_ONCE = 2_000
#: how much more than the database itself must be free before a copy is begun
_ROOM = 1.2
Progress = Callable[[str], None]


def take(
    target: Path,
    *,
    at: dt.datetime,
    with_secret_key: bool = False,
    progress: Progress = lambda _says: None,
) -> Counted:
    """Write everything into the archive ``target``; returns what it holds.

    The secret key is left out unless it is asked for: with it the archive is as good as the shop.
    Raises :class:`Refused`: ``exists``, ``no_folder``, ``no_room``, ``file_missing``, or what
    PostgreSQL's program said.
    """
    if target.exists():
        raise Refused("exists", say("{file} is there already.", file=str(target)))
    if not target.parent.is_dir():
        raise Refused("no_folder", say("There is no folder {folder}.", folder=str(target.parent)))
    _must_have_room(target.parent)
    manifest: dict[str, Any] = {"made_at": at.isoformat(), "engine": connection.vendor}
    with (
        tempfile.TemporaryDirectory(dir=target.parent) as folder,
        writing(target, manifest) as archive,
    ):
        progress("database")
        found = _database(archive, Path(folder))
        manifest["counted"] = found.as_dict()
        manifest["migrations"] = counted.migrations()
        progress(f"{found.events} events; now the files")
        _files(archive)
        _keys(archive)
        since.write()
        with since.path().open("rb") as file:
            archive.add("since.json", file)
        if with_secret_key:
            archive.add(SECRET_KEY, io.BytesIO(settings.SECRET_KEY.encode()))
    return found


def _database(archive: Writer, folder: Path) -> Counted:
    name, copy = (SQLITE, _sqlite) if connection.vendor == "sqlite" else (POSTGRESQL, _postgresql)
    to = folder / name
    found = copy(to)
    with to.open("rb") as file:
        archive.add(name, file)
    return found


def _sqlite(to: Path) -> Counted:
    """SQLite's own online copy: writers go on, and it is of one moment."""
    with (
        closing(sqlite3.connect(str(connection.settings_dict["NAME"]))) as live,
        closing(sqlite3.connect(to)) as copy,
    ):
        live.backup(copy, pages=_PAGES_AT_ONCE)
        [(said,)] = copy.execute("PRAGMA integrity_check").fetchall()
        if said != "ok":
            raise Refused("damaged", say("The database is damaged: {said}", said=str(said)))
        copy.execute("PRAGMA journal_mode=DELETE")
    with opened(environment.sqlite(str(to))) as alias:
        return counted.count(alias)


def _postgresql(to: Path) -> Counted:
    """Count and dump in one snapshot, so that both are of the same moment."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        cursor.execute("SELECT pg_export_snapshot()")
        [snapshot] = cursor.fetchone()
        found = counted.count()
        words = ["--format=custom", "--no-owner", f"--snapshot={snapshot}", f"--file={to}"]
        tools.run("pg_dump", *words, *connection_words(), password=password())
    return found


@contextmanager
def opened(settings: dict[str, Any]) -> Iterator[str]:
    """Another database under a name of its own, closed at the end."""
    connections.databases[COPY] = connections["default"].settings_dict | {
        "CONN_MAX_AGE": 0,
        **settings,
    }
    try:
        yield COPY
    finally:
        connections[COPY].close()
        del connections[COPY]
        del connections.databases[COPY]


def connection_words() -> list[str]:
    """How PostgreSQL's programs reach the service's database; the password goes another way."""
    known = connection.settings_dict
    words = {"host": known["HOST"], "port": known["PORT"], "username": known["USER"]}
    return [f"--{name}={word}" for name, word in words.items() if word] + [
        f"--dbname={known['NAME']}"
    ]


def password() -> str:
    """The password of the service's database."""
    return str(connection.settings_dict["PASSWORD"] or "")


def _files(archive: Writer) -> None:
    for key in StoredFile.objects.exclude(key="").order_by("pk").values_list("key", flat=True):
        try:
            with default_storage.open(key) as file:
                archive.add(f"files/{key}", file)
        except FileNotFoundError as missing:
            says = say("The file {key} is named by a row and is not there. See verify.", key=key)
            raise Refused("file_missing", says) from missing


def _keys(archive: Writer) -> None:
    folder = signing_keys.folder()
    for path in sorted(folder.glob("*.jwk")) if folder.is_dir() else ():
        with path.open("rb") as file:
            archive.add(f"keys/{path.name}", file)


def _must_have_room(folder: Path) -> None:
    if connection.vendor == "sqlite":
        size = os.path.getsize(connection.settings_dict["NAME"])  # noqa: PTH202 - a name, not a path
    else:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_database_size(current_database())")
            [size] = cursor.fetchone()
    sizes = StoredFile.objects.exclude(key="").values_list("size", flat=True)
    wanted, free = int(size * _ROOM) + sum(sizes), shutil.disk_usage(folder).free
    if free < wanted:
        says = say(
            "{folder} has {free} bytes left; a copy may need {wanted}.",
            folder=str(folder),
            free=free,
            wanted=wanted,
        )
        raise Refused("no_room", says)
