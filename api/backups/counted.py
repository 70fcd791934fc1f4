"""What a database holds, in figures that two copies of it share: rows by table, and the history."""

import hashlib
from dataclasses import asdict, dataclass
from typing import Any

from django.apps import apps
from django.db import connections
from django.db.migrations.recorder import MigrationRecorder

from cylinders import history, merkle

#: what a copy need not share: who is signed in just now
_NOT_COUNTED = frozenset({"django_session"})


@dataclass(frozen=True, slots=True)
class Counted:
    """Rows by table, events, the root of the hash tree over them, and the cylinders' heads."""

    tables: dict[str, int]
    events: int
    root: str
    heads: str

    def as_dict(self) -> dict[str, Any]:
        """As JSON holds it."""
        return asdict(self)


def count(alias: str = "default") -> Counted:
    """Count what the database ``alias`` holds; call it on a copy, or inside one snapshot."""
    tables = {name: _rows(alias, name) for name in own_tables()}
    entries = list(history.digests(using=alias))
    return Counted(tables, len(entries), merkle.tree_root(entries).hex(), _heads(alias))


def own_tables() -> list[str]:
    """Every table of the service's models, in a fixed order."""
    models = apps.get_models(include_auto_created=True)
    names = {model._meta.db_table for model in models if model._meta.managed}  # noqa: SLF001 - Django's documented way to a model's table
    return sorted(names - _NOT_COUNTED)


def migrations(alias: str = "default") -> list[str]:
    """The migrations that a database has been through, as ``app.name``."""
    applied = MigrationRecorder(connections[alias]).applied_migrations()
    return sorted(f"{app}.{name}" for app, name in applied)


def _rows(alias: str, table: str) -> int:
    with connections[alias].cursor() as cursor:
        quoted = connections[alias].ops.quote_name(table)
        cursor.execute(f"SELECT count(*) FROM {quoted}")  # noqa: S608 - a table of our own models
        return int(cursor.fetchone()[0])


def _heads(alias: str) -> str:
    with connections[alias].cursor() as cursor:
        cursor.execute("SELECT id, events_held, head FROM cylinders_cylinder ORDER BY id")
        digest = hashlib.sha256()
        for row in cursor.fetchall():
            digest.update("|".join(map(str, row)).encode() + b"\n")
    return digest.hexdigest()
