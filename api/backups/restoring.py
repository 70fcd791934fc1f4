"""An archive is put back into an empty place, compared, brought up to date, and left disarmed."""

import datetime as dt
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.files import File
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from api import arming, signing_keys, verifying
from api.backups import counted, since, taking, tools
from api.backups.archive import Opened, reading
from cylinders.queries.verification import Verified
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

Progress = Callable[[str], None]
_ENGINES = {"sqlite": taking.SQLITE, "postgresql": taking.POSTGRESQL}


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put back: how it compares, what was done anew, and what ``verify`` found."""

    made_at: str
    events: int
    again: dict[str, int]
    verified: Verified


def restore(
    source: Path,
    *,
    newer: Path | None,
    at: dt.datetime,
    progress: Progress = lambda _says: None,
) -> Restored:
    """Put ``source`` into the empty database and folder of this service, disarmed.

    ``newer`` is a list of what was erased and revoked since (:mod:`api.backups.since`); without one
    that in this place counts, then that of the archive. Whoever was signed in signs in anew.
    Raises :class:`Refused`: ``not_empty``, ``other_engine``, ``newer``, ``damaged``, ``differs``,
    ``not_a_list``. A place where it failed half-way serves nothing.
    """
    lists = [since.read(newer)] if newer else []
    if since.path().exists():
        lists.append(since.read(since.path()))
    progress("every member against its hash")
    with reading(source) as archive:
        _must_fit(archive)
        _must_be_empty()
        arming.unfinished().touch()
        progress("database")
        _database(archive)
        progress("files and keys")
        _files(archive)
        _compare(archive)
        with archive.open("since.json") as file:
            lists.append(since.parse(file.read()))
        made_at = str(archive.manifest["made_at"])
    call_command("migrate", verbosity=0)
    arming.disarm()
    Session.objects.all().delete()
    again = since.apply(since.merged(*lists), at=at)
    since.save(since.merged(*lists), since.path())
    progress("every history")
    verified = verifying.everything()
    arming.unfinished().unlink()
    return Restored(made_at, verified.events, again, verified)


def _must_fit(archive: Opened) -> None:
    engine = archive.manifest["engine"]
    if engine != connection.vendor:
        says = say(
            "The archive is of {engine}, and this service has {ours}. Restore it there, then move.",
            engine=engine,
            ours=connection.vendor,
        )
        raise Refused("other_engine", says)
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
    unknown = sorted(set(archive.manifest["migrations"]) - known)
    if unknown:
        says = say("The archive is of a newer version: {name} is unknown here.", name=unknown[0])
        raise Refused("newer", says)


def _must_be_empty() -> None:
    there = connection.introspection.table_names()
    keys = signing_keys.folder()
    if there or _has_files() or (keys.is_dir() and any(keys.iterdir())):
        what = str(connection.settings_dict["NAME"] if there else settings.VAR_DIR)
        says = say("{what} is not empty. Restore into a new place.", what=what)
        raise Refused("not_empty", says)


def _has_files() -> bool:
    try:
        return any(default_storage.listdir(""))
    except FileNotFoundError:  # a folder that was not made yet
        return False


def _database(archive: Opened) -> None:
    name = _ENGINES[connection.vendor]
    if connection.vendor == "sqlite":
        connection.close()
        to = Path(str(connection.settings_dict["NAME"]))
        to.unlink(missing_ok=True)  # it was found empty
        archive.extract(name, to)
        with closing(sqlite3.connect(to)) as line:
            line.execute("PRAGMA journal_mode=WAL")
        return
    dump = Path(settings.VAR_DIR) / f".{name}"
    try:
        archive.extract(name, dump)
        words = ["--no-owner", "--exit-on-error", "--single-transaction", str(dump)]
        tools.run("pg_restore", *taking.connection_words(), *words, password=taking.password())
    finally:
        dump.unlink(missing_ok=True)


def _files(archive: Opened) -> None:
    for name in archive.names("files"):
        with archive.open(f"files/{name}") as content:
            kept = default_storage.save(name, File(content))
        if kept != name:
            says = say("{name} was there already. Restore into a new place.", name=name)
            raise Refused("not_empty", says)
    for name in archive.names("keys"):
        archive.extract(f"keys/{name}", signing_keys.folder() / name)
    if taking.SECRET_KEY in archive.manifest["members"]:
        own = Path(settings.VAR_DIR) / "secret_key"
        own.unlink(missing_ok=True)  # one was made when this command began
        archive.extract(taking.SECRET_KEY, own)


def _compare(archive: Opened) -> None:
    wanted: Any = archive.manifest["counted"]
    found = counted.count().as_dict()
    for name in wanted:
        if found[name] != wanted[name]:
            says = say("{name} differ from what was copied. Do not use this copy.", name=name)
            raise Refused("differs", says)
