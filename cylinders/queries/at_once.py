"""Rows of several tables read in one statement: what a thousand records lean on costs one look.

Each table's rows travel as one JSON object a row, and become plain model objects again; what a
query is annotated with comes along as an attribute.
"""

import datetime as dt
import json
from collections.abc import Sequence
from typing import Any

from django.db import connection
from django.db.models import DateTimeField, F, Field, JSONField, Model, QuerySet, Value
from django.db.models.functions import JSONObject
from django.utils import timezone

Rows = dict[type[Model], list[Any]]


def rows_of(parts: Sequence[QuerySet[Any]]) -> Rows:
    """The rows of each query by its model, without order; one statement for all of them."""
    found: Rows = {part.model: [] for part in parts}
    models = list(found)
    first, *others = (_as_objects(part, models.index(part.model)) for part in parts)
    for number, row in first.union(*others, all=True):
        model = models[number]
        found[model].append(_made(model, row))
    return found


def _as_objects(part: QuerySet[Any], number: int) -> QuerySet[Any, Any]:
    columns = {field.attname: field.attname for field in _fields(part.model)}
    row = JSONObject(**columns, **{name: F(name) for name in part.query.annotations})
    named: QuerySet[Any] = part.order_by().annotate(which_table=Value(number), whole_row=row)
    objects: QuerySet[Any, Any] = named.values_list("which_table", "whole_row")
    return objects


def _made(model: type[Model], row: dict[str, Any]) -> Model:
    fields = _fields(model)
    values = [_value(field, row[field.attname]) for field in fields]
    made = model.from_db(connection.alias, [field.attname for field in fields], values)
    for name in row.keys() - {field.attname for field in fields}:
        setattr(made, name, row[name])
    return made


def _fields(model: type[Model]) -> Sequence[Any]:
    return model._meta.concrete_fields  # noqa: SLF001 - the documented interface of a model's shape


def _value(field: "Field[Any, Any]", value: Any) -> Any:
    """One column from its JSON: SQLite keeps JSON, days and instants as text, in UTC."""
    if isinstance(field, JSONField):
        return json.loads(value) if isinstance(value, str) else value
    made = field.to_python(value)
    if isinstance(field, DateTimeField) and isinstance(made, dt.datetime) and made.tzinfo is None:
        return timezone.make_aware(made, dt.UTC)
    return made
