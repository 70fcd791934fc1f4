"""Lift the append-only triggers of SQLite where a transactional test is cleared away.

After such a test Django deletes every row, which the triggers rightly refuse. They are lifted for
the clearing alone and set again before the next test, from the statements of the migrations
themselves. PostgreSQL truncates instead, which row triggers do not see.
"""

from importlib import import_module

from django.core.management import call_command
from django.db import connection

_MIGRATIONS = (
    "cylinders.migrations.0002_history_is_append_only",
    "labels.migrations.0002_codes_are_for_ever",
)


def lift() -> None:
    """Drop the triggers."""
    _run("UNDO_SQLITE")


def set_again() -> None:
    """Make the triggers anew."""
    _run("SQLITE")


def are_set() -> bool:
    """Whether every trigger of the migrations stands."""
    wanted = sum(len(import_module(name).SQLITE) for name in _MIGRATIONS)
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'")
        return bool(cursor.fetchone()[0] >= wanted)


def clear() -> None:
    """Empty every table after a world that was committed for several tests."""
    sqlite = connection.vendor == "sqlite"
    if sqlite:
        lift()
    call_command("flush", verbosity=0, interactive=False)
    if sqlite:
        set_again()


def _run(statements: str) -> None:
    with connection.cursor() as cursor:
        for name in _MIGRATIONS:
            for statement in getattr(import_module(name), statements):
                cursor.execute(statement)
