"""A number that was given once means one thing for ever, also where an older copy forgot it."""

from collections.abc import Iterable

from django.db import connection
from django.db.models import Model


def number_behind(model: type[Model], given: Iterable[int]) -> None:
    """Let the next row of a table be numbered behind every number that was ever ``given``."""
    highest = max(given, default=0)
    if not highest:
        return
    table = model._meta.db_table  # noqa: SLF001 - Django's documented way to a model's table
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                """SELECT setval(s.name, greatest(%s, nextval(s.name)))
                FROM (SELECT pg_get_serial_sequence(%s, 'id')::regclass AS name) s""",
                [highest, table],
            )
            return
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        known = cursor.fetchone()
        if known is None:
            cursor.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, 0)", [table])
        sequence = max(highest, known[0] if known else 0)
        cursor.execute("UPDATE sqlite_sequence SET seq = %s WHERE name = %s", [sequence, table])
