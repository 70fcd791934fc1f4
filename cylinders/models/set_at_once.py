"""Rows of one table stored by one statement, however many they are.

New rows go into PostgreSQL by COPY; those that must know their numbers get them before. Everything
else travels as one JSON text, which either engine turns into a table: no limit on the number of
values, and no value that is quoted one by one.
"""

import json
from collections.abc import Iterator, Sequence
from operator import attrgetter
from typing import Any, TypeVar

import orjson
from django.db import connection
from django.db.models import (
    BooleanField,
    CharField,
    DateField,
    Field,
    ForeignKey,
    Func,
    IntegerField,
    JSONField,
    Model,
    TextField,
    Value,
)

M = TypeVar("M", bound=Model)

#: the values as a table, one row a JSON object, by engine
_SOURCES = {
    "postgresql": "json_to_recordset(%s::json) AS fresh({typed})",
    "sqlite": "(SELECT {drawn} FROM json_each(%s)) AS fresh",
}
_NUMBERS = "SELECT nextval(pg_get_serial_sequence(%s, 'id')) FROM generate_series(1, %s)"
#: what an engine keeps as it stands in the row
_PLAIN = (CharField, TextField, IntegerField, BooleanField, ForeignKey)
_AS_IT_STANDS = {"sqlite": _PLAIN, "postgresql": (*_PLAIN, DateField, JSONField)}


class Numbers(Func):
    """Fresh numbers for the rows of a table, as a JSON list; PostgreSQL alone."""

    template = "(SELECT json_agg(nextval(pg_get_serial_sequence(%(expressions)s))"
    arg_joiner = ", 'id'))) FROM generate_series(1, "  # between the table and how many
    output_field = JSONField()


def numbers_for(model: type[Model], count: int) -> Numbers:
    """As many fresh numbers for rows of a model, to be drawn by another query."""
    table = model._meta.db_table  # noqa: SLF001 - the documented interface of a model's shape
    return Numbers(Value(table), Value(count))


def insert_each(rows: Sequence[M], numbers: Sequence[int] = ()) -> Iterator[M]:
    """Insert new rows of one model in their order and give each back when it has its number.

    One statement, and on PostgreSQL one before it that draws the numbers, unless they are given.
    PostgreSQL stores what was sent while the caller works on what it got back; all are stored when
    the last was taken, and no other statement may be made before.
    """
    if not rows:
        return
    if connection.vendor == "postgresql":
        numbers = numbers or _answers(_NUMBERS, [_table(rows[0]), len(rows)])
        for number, row in zip(numbers, rows, strict=True):
            row.pk = number
        yield from _copied(rows, _fields(rows[0]))
        return
    fields = _without_number(rows[0])
    numbers = _answers(f"{_inserting(rows[0], fields)} RETURNING id", [_as_json(rows, fields)])
    yield from (_numbered(row, number) for row, number in zip(rows, numbers, strict=True))


def insert_and_store(new: Sequence[Model], held: Sequence[Model], columns: Sequence[str]) -> None:
    """Insert rows of one model that need not know their numbers, and store columns of another's.

    Two statements.
    """
    if not new or not held:
        raise ValueError("rows to insert and rows to store go together; one of them is missing")
    wanted = ("id", *columns)
    fresh = _without_number(new[0])
    kept = [field for field in _fields(held[0]) if field.attname in wanted]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            for _row in _copied(new, fresh):
                pass  # stored when the last was taken
        else:
            cursor.execute(_inserting(new[0], fresh), [_as_json(new, fresh)])
        cursor.execute(_storing(held[0], kept, columns), [_as_json(held, kept)])


def _numbered(row: M, number: int) -> M:
    row.pk = number
    row._state.adding = False  # noqa: SLF001 - as the framework's own bulk insert does
    return row


def _copied(rows: Sequence[M], fields: Sequence[Any]) -> Iterator[M]:
    """Copy these columns of rows in, and give each row back when it is on its way."""
    names = ", ".join(field.column for field in fields)
    values_of = attrgetter(*(field.attname for field in fields))
    as_json = [place for place, field in enumerate(fields) if isinstance(field, JSONField)]
    copying = f"COPY {_table(rows[0])} ({names}) FROM STDIN"
    with (
        connection.wrap_database_errors,
        connection.cursor() as cursor,
        cursor.copy(copying) as copy,
    ):
        for row in rows:
            values = list(values_of(row))
            for place in as_json:
                values[place] = orjson.dumps(values[place]).decode()
            copy.write_row(values)
            yield _numbered(row, row.pk)


def _answers(statement: str, values: Sequence[Any]) -> list[int]:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        return [number for (number,) in cursor.fetchall()]


def _inserting(row: Model, fields: Sequence[Any]) -> str:
    names = ", ".join(field.column for field in fields)
    return f"INSERT INTO {_table(row)} ({names}) SELECT {names} FROM {_source(fields)}"  # noqa: S608 - names of our own tables


def _storing(row: Model, fields: Sequence[Any], columns: Sequence[str]) -> str:
    table = _table(row)
    changes = ", ".join(f"{name} = fresh.{name}" for name in columns)
    return (
        f"UPDATE {table} SET {changes}"  # noqa: S608 - names of our own tables
        f" FROM {_source(fields)} WHERE {table}.id = fresh.id"
    )


def _source(fields: Sequence[Any]) -> str:
    typed = ", ".join(f"{field.column} {field.db_type(connection)}" for field in fields)
    names = [field.column for field in fields]
    drawn = ", ".join(f"json_extract(value, '$.{name}') AS {name}" for name in names)
    return _SOURCES[connection.vendor].format(typed=typed, drawn=drawn)


def _as_json(rows: Sequence[Model], fields: Sequence[Any]) -> str:
    columns = [field.column for field in fields]
    values_of = attrgetter(*(field.attname for field in fields))
    values = [dict(zip(columns, values_of(row), strict=True)) for row in rows]
    for field in fields:
        if not isinstance(field, _AS_IT_STANDS[connection.vendor]):
            for row, kept in zip(rows, values, strict=True):
                kept[field.column] = _value(row, field)
    return orjson.dumps(values, default=str).decode()


def _value(row: Model, field: "Field[Any, Any]") -> Any:
    """The value as the column keeps it: SQLite keeps JSON, days and instants as text."""
    value = getattr(row, field.attname)
    if isinstance(field, JSONField):
        return json.dumps(value) if connection.vendor == "sqlite" else value
    return field.get_db_prep_save(value, connection)


def _without_number(row: Model) -> list[Any]:
    return [field for field in _fields(row) if not field.primary_key]


def _table(row: Model) -> str:
    return row._meta.db_table  # noqa: SLF001 - the documented interface of a model's shape


def _fields(row: Model) -> Sequence[Any]:
    return row._meta.concrete_fields  # noqa: SLF001 - the same
