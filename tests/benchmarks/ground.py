"""What benchmarks stand on: one PostgreSQL that keeps its promises, a fresh database for each.

``fsync`` is on, as in a shop: a commit costs what it costs.
"""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager

from api.collector import settle_down
from tests import servers

_READY = "bench_ready"  # a migrated, empty database, copied for each benchmark


def settle() -> servers.Server:
    """Start PostgreSQL, point the service at it and load Django; once for each process."""
    server = servers.postgresql(careful=True)
    os.environ |= {
        "DATABASE_URL": server.url,
        "VAR_DIR": tempfile.mkdtemp(prefix="bench-"),
        "DJANGO_SETTINGS_MODULE": "tests.benchmarks.settings",
    }
    import django  # noqa: PLC0415 - after its settings' environment

    django.setup()
    settle_down()  # as every process of the service does when it has started
    return server


@contextmanager
def database(name: str = "bench") -> Iterator[None]:
    """A fresh migrated database behind Django's own connection; it is dropped at the end."""
    from django.db import connection  # noqa: PLC0415 - after settle()

    home = connection.settings_dict["NAME"]
    _migrated_once()
    _on(home, f"CREATE DATABASE {name} TEMPLATE {_READY}")
    try:
        _go_to(name)
        yield
    finally:
        _go_to(home)
        _on(home, f"DROP DATABASE {name} WITH (FORCE)")


def address() -> str:
    """The address of the database that is open now, for other processes."""
    from django.db import connection  # noqa: PLC0415 - after settle()

    known = connection.settings_dict
    return f"postgresql://{known['USER']}@/{known['NAME']}?host={known['HOST']}"


def connections() -> int:
    """How many connections there are to the database that is open now, this one left out."""
    from django.db import connection  # noqa: PLC0415 - after settle()

    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) - 1 FROM pg_stat_activity WHERE datname = current_database()"
        )
        return int(cursor.fetchone()[0])


def _migrated_once() -> None:
    from django.core.management import call_command  # noqa: PLC0415 - after settle()
    from django.db import connection  # noqa: PLC0415 - after settle()

    home = connection.settings_dict["NAME"]
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_database WHERE datname = %s", [_READY])
        if cursor.fetchone():
            return
    _on(home, f"CREATE DATABASE {_READY}")
    _go_to(_READY)
    call_command("migrate", verbosity=0, interactive=False)
    _go_to(home)


def _on(name: str, statement: str) -> None:
    from django.db import connection  # noqa: PLC0415 - after settle()

    _go_to(name)
    with connection.cursor() as cursor:
        cursor.execute(statement)


def _go_to(name: str) -> None:
    from django.db import connection  # noqa: PLC0415 - after settle()

    if connection.settings_dict["NAME"] != name:
        connection.close()
        connection.settings_dict["NAME"] = name
