"""Rows of one table stored by one statement, however many they are.

The values travel as one JSON text, which either engine turns into a table: no limit on the number
of values, and no value that is quoted one by one.
"""

import json
from collections.abc import Sequence
from typing import Any

from django.db import connection
from django.db.models import Field, JSONField, Model

#: the values as a table, one row a JSON object, by engine
_SOURCES = {
    "postgresql": "json_to_recordset(%s::json) AS fresh({typed})",
    "sqlite": "(SELECT {drawn} FROM json_each(%s)) AS fresh",
}


def insert(rows: Sequence[Model]) -> None:
    """Insert new rows of one model in their order, in one statement; each gets its number."""
    if not rows:
        return
    fields = [field for field in _fields(rows[0]) if not field.primary_key]
    names = ", ".join(field.column for field in fields)
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {_table(rows[0])} ({names})"  # noqa: S608 - names of our own tables
            f" SELECT {names} FROM {_source(fields)} RETURNING id",
            [_as_json(rows, fields)],
        )
        for row, (number,) in zip(rows, cursor.fetchall(), strict=True):
            row.pk = number
            row._state.adding = False  # noqa: SLF001 - as the framework's own bulk insert does


def store(rows: Sequence[Model], columns: Sequence[str]) -> None:
    """Store these columns of rows of one model that are there already, in one statement."""
    if not rows:
        return
    wanted = ("id", *columns)
    fields = [field for field in _fields(rows[0]) if field.attname in wanted]
    table = _table(rows[0])
    changes = ", ".join(f"{name} = fresh.{name}" for name in columns)
    with connection.cursor() as cursor:
        cursor.execute(
            f"UPDATE {table} SET {changes}"  # noqa: S608 - names of our own tables
            f" FROM {_source(fields)} WHERE {table}.id = fresh.id",
            [_as_json(rows, fields)],
        )


def _source(fields: Sequence[Any]) -> str:
    typed = ", ".join(f"{field.column} {field.db_type(connection)}" for field in fields)
    names = [field.column for field in fields]
    drawn = ", ".join(f"json_extract(value, '$.{name}') AS {name}" for name in names)
    return _SOURCES[connection.vendor].format(typed=typed, drawn=drawn)


def _as_json(rows: Sequence[Model], fields: Sequence[Any]) -> str:
    values = [{field.column: _value(row, field) for field in fields} for row in rows]
    return json.dumps(values, ensure_ascii=False, default=str)


def _value(row: Model, field: "Field[Any, Any]") -> Any:
    """The value as the column keeps it: SQLite keeps JSON, days and instants as text."""
    value = getattr(row, field.attname)
    if isinstance(field, JSONField):
        return json.dumps(value) if connection.vendor == "sqlite" else value
    return field.get_db_prep_save(value, connection)


def _table(row: Model) -> str:
    return row._meta.db_table  # noqa: SLF001 - the documented interface of a model's shape


def _fields(row: Model) -> Sequence[Any]:
    return row._meta.concrete_fields  # noqa: SLF001 - the same
