"""Whether the database still refuses to change the history and the codes: its triggers stand.

SQLite drops the triggers of a table that a migration rebuilds, and says nothing. A start-up check
and ``verify`` ask here, so that it shows before anything was changed.
"""

from importlib import import_module
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connection, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.recorder import MigrationRecorder

from cylinders.rules.wording import say

#: Each migration that sets triggers; it holds the statements by engine, and those that undo them.
MIGRATIONS = (
    ("cylinders", "0002_history_is_append_only"),
    ("labels", "0002_codes_are_for_ever"),
)
_STANDING = {
    "sqlite": """SELECT sql FROM sqlite_master WHERE type = 'trigger'""",
    "postgresql": """SELECT 'CREATE TRIGGER ' || t.tgname FROM pg_trigger t
        JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_proc p ON p.oid = t.tgfoid
        WHERE t.tgenabled IN ('O', 'A') AND pg_table_is_visible(c.oid)
        AND c.relname || '_refuse' = p.proname AND p.prosrc LIKE '%RAISE EXCEPTION%'""",
}


def problems(alias: str = DEFAULT_DB_ALIAS) -> list[str]:
    """Each trigger that does not stand, as a sentence; none before the migration that sets it."""
    return [
        say(
            "the trigger {name} does not stand: find out since when, then run "
            "`manage.py verify --set-guards`",
            name=name,
        )
        for name in _missing(connections[alias])
    ]


def set_again() -> list[str]:
    """Set every trigger that does not stand, from its migration; returns their names."""
    missing = _missing(connection)
    with connection.cursor() as cursor:
        for name, statements in missing.items():
            on = "" if connection.vendor == "sqlite" else f" ON {name.split('_no_', maxsplit=1)[0]}"
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}{on}")
            for statement in statements:
                cursor.execute(statement)
    return list(missing)


def _missing(database: BaseDatabaseWrapper) -> dict[str, list[str]]:
    """By name of the trigger, the statements that make it."""
    applied = MigrationRecorder(database).applied_migrations()
    with database.cursor() as cursor:
        cursor.execute(_STANDING[database.vendor])
        standing = [row[0] for row in cursor.fetchall()]
    missing: dict[str, list[str]] = {}
    for app, migration in MIGRATIONS:
        if (app, migration) not in applied:
            continue
        module: Any = import_module(f"{app}.migrations.{migration}")
        statements: list[str] = getattr(module, database.vendor.upper())
        functions = [one for one in statements if "FUNCTION" in one.split("EXECUTE")[0]]
        for statement in statements:
            if statement not in functions and not _stands(statement, standing):
                missing[statement.split()[2]] = [*functions, statement]
    return missing


def _stands(statement: str, standing: list[str]) -> bool:
    """Whether it is there word by word (SQLite keeps them), or by its name and table."""
    return statement in standing or f"CREATE TRIGGER {statement.split()[2]}" in standing
