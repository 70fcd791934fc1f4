"""Changed rows of one table stored by one statement, however many they are."""

import json
from collections.abc import Sequence
from typing import Any

from django.db import connection
from django.db.models import Model

#: the new values as a table, one row a JSON object, by engine
_SOURCES = {
    "postgresql": "jsonb_to_recordset(%s::jsonb) AS fresh({typed})",
    "sqlite": "(SELECT {drawn} FROM json_each(%s)) AS fresh",
}


def store(rows: Sequence[Model], columns: Sequence[str]) -> None:
    """Store these columns (plain text and numbers) of rows of one model, in one statement."""
    if not rows:
        return
    meta = rows[0]._meta  # noqa: SLF001 - the documented interface of a model's shape
    table = meta.db_table
    wanted = ("id", *columns)
    fields = sorted(
        (field for field in meta.concrete_fields if field.attname in wanted),
        key=lambda field: wanted.index(field.attname),
    )
    names = [str(field.column) for field in fields]
    typed = ", ".join(f"{field.column} {field.db_type(connection)}" for field in fields)
    drawn = ", ".join(f"json_extract(value, '$.{name}') AS {name}" for name in names)
    source = _SOURCES[connection.vendor].format(typed=typed, drawn=drawn)
    changes = ", ".join(f"{name} = fresh.{name}" for name in names[1:])
    values = [_values(row, names) for row in rows]
    with connection.cursor() as cursor:
        cursor.execute(
            f"UPDATE {table} SET {changes} FROM {source} WHERE {table}.id = fresh.id",  # noqa: S608 - names of our own tables and columns
            [json.dumps(values)],
        )


def _values(row: Model, names: Sequence[str]) -> dict[str, Any]:
    return {name: getattr(row, name) for name in names}
