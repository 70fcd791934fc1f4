"""Read many tables as they were at one moment, while others go on writing."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections, transaction


@contextmanager
def snapshot() -> Iterator[None]:
    """Let everything read inside be of one moment: that of the first row. Nothing may be written.

    Nobody waits for it, and it waits for nobody. Inside a transaction of the caller's it is that
    transaction, with what it shows.
    """
    connection: Any = connections[DEFAULT_DB_ALIAS]  # the stubs know no mode
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":
        connection.ensure_connection()  # which sets the mode
        usual = connection.transaction_mode
        connection.transaction_mode = "DEFERRED"  # a reader must not take the write lock
        try:
            with transaction.atomic():
                yield
        finally:
            connection.transaction_mode = usual
    else:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
