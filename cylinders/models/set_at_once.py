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
    Expression,
    Field,
    ForeignKey,
    IntegerField,
    JSONField,
    Model,
    TextField,
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


class FreshNumbers(Expression):
    """So many fresh numbers for rows of a model, as a JSON list that another query draws.

    PostgreSQL alone.
    """

    def __init__(self, model: type[Model], count: int) -> None:
        super().__init__(output_field=JSONField())
        self.table, self.count = model._meta.db_table, count  # noqa: SLF001 - the documented interface of a model's shape

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[str | int, ...]]:  # noqa: ARG002 - Django's own names
        """A sub-query over the statement that draws them."""
        drawing = f"(SELECT json_agg(number) FROM ({_NUMBERS}) AS drawn(number))"  # noqa: S608 - a constant
        return drawing, (self.table, self.count)


def insert_each(rows: Sequence[M], numbers: Sequence[int] = ()) -> Iterator[M]:
    """Insert new rows of one model in their order and give each back when it has its number.

    One statement, and on PostgreSQL one before it that draws the numbers, unless they are given.
    PostgreSQL stores what was sent while the caller works on what it got back; all are stored when
    the last was taken, and no other statement may be made before. Not for events: numbers drawn
    before the table is touched could come in front of a place that counts as settled.
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


def insert(rows: Sequence[Model]) -> None:
    """Insert new rows of one model that need not know their numbers, in one statement."""
    if not rows:
        return
    fields = _without_number(rows[0])
    if connection.vendor == "postgresql":
        for _row in _copied(rows, fields):
            pass  # stored when the last was taken
        return
    with connection.cursor() as cursor:
        cursor.execute(_inserting(rows[0], fields), [_as_json(rows, fields)])


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
