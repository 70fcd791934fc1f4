"""The service moves from its database to an empty one: every row compared before it counts.

Everything happens in one transaction of the new database. What SQLite takes and PostgreSQL does
not (a NUL in a text, a text over its length) ends the move with the place, and nothing is moved.
"""

import hashlib
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from typing import Any

from django.apps import apps
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.color import no_style
from django.core.serializers.json import DjangoJSONEncoder
from django.db import DatabaseError, connection, connections, models, transaction
from django.db.models import Model, QuerySet

from api import arming, guards
from api.backups.taking import opened
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

_AT_ONCE = 1_000
Progress = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Moved:
    """One table: its rows, and the hash that both databases gave."""

    table: str
    rows: int
    digest: str


def move(settings: dict[str, Any], *, progress: Progress = lambda _says: None) -> list[Moved]:
    """Copy every row into the empty database that ``settings`` names, and compare.

    The new one is left disarmed, so that two copies never write to the same people.

    Raises :class:`Refused`: ``not_empty``, ``not_guarded``, ``nul``, ``too_long``, ``not_taken``,
    ``differs``.
    """
    with opened(settings) as alias:
        if connections[alias].introspection.table_names():
            says = say("{what} is not empty.", what=str(settings["NAME"]))
            raise Refused("not_empty", says)
        progress("tables")
        call_command("migrate", database=alias, verbosity=0)
        for problem in guards.problems(alias):
            raise Refused("not_guarded", problem)
        with _still(), transaction.atomic(using=alias):
            _clear(alias)
            moved = [_table(model, alias, progress) for model in _models()]
            _references_hold(alias)
            arming.disarm(using=alias)
            _reset_numbers(alias)
        return moved


@contextmanager
def _still() -> Iterator[None]:
    """One moment of the old database: nobody writes to a SQLite meanwhile."""
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        yield


def _models() -> list[type[Model]]:
    """Every table, in an order of their names: references are checked when all is there."""
    every = (model for model in apps.get_models(include_auto_created=True) if model._meta.managed)  # noqa: SLF001 - Django's documented way to a model's table
    return sorted(every, key=_name)


def _name(model: type[Model]) -> str:
    return str(model._meta.db_table)  # noqa: SLF001 - the same


def _rows(model: type[Model], alias: str) -> QuerySet[Model]:
    return model._base_manager.using(alias).all()  # noqa: SLF001 - it hides nothing


def _clear(alias: str) -> None:
    """Take out what the migrations wrote by themselves; it comes with the rest."""
    for model in reversed(_models()):
        if model._meta.app_label in {"auth", "contenttypes"}:  # noqa: SLF001 - the same
            _rows(model, alias).delete()


def _table(model: type[Model], alias: str, progress: Progress) -> Moved:
    name, count = _name(model), 0
    rows = _rows(model, "default").order_by("pk").iterator(chunk_size=_AT_ONCE)
    while some := list(islice(rows, _AT_ONCE)):
        for row in some:
            _must_fit(row, name)
        try:
            _rows(model, alias).bulk_create(some)
        except (DatabaseError, ValidationError, ValueError) as problem:
            says = say("{table}: {problem}", table=name, problem=str(problem).strip())
            raise Refused("not_taken", says) from problem
        count += len(some)
    before, after = digest(model, "default"), digest(model, alias)
    if before != after:
        raise Refused("differs", say("{table} differs after the move.", table=name))
    progress(f"{name}: {count}")
    return Moved(name, count, after)


def digest(model: type[Model], alias: str) -> str:
    """SHA-256 over every row of a table as JSON, in the order of its key."""
    names = [field.attname for field in model._meta.concrete_fields]  # noqa: SLF001 - as above
    rows = _rows(model, alias).order_by("pk").values_list(*names)
    found = hashlib.sha256()
    for row in rows.iterator(chunk_size=_AT_ONCE):
        text = json.dumps(row, cls=DjangoJSONEncoder, sort_keys=True, ensure_ascii=False)
        found.update(text.encode() + b"\n")
    return found.hexdigest()


def _must_fit(row: Model, table: str) -> None:
    """Refuse what SQLite let in and the new database does not take, with its place."""
    for field in row._meta.concrete_fields:  # noqa: SLF001 - as above
        value = getattr(row, field.attname)
        text = value if isinstance(value, str) else ""
        if isinstance(field, models.JSONField):
            text = json.dumps(value, ensure_ascii=False).replace("\\u0000", "\0")
        elif field.max_length and len(text) > field.max_length:
            why = say(
                "{count} signs, and {most} are the most", count=len(text), most=field.max_length
            )
            raise _not_taken("too_long", row, table, field.name, why)
        if "\0" in text:
            why = say("a NUL sign, which the new database cannot hold")
            raise _not_taken("nul", row, table, field.name, why)


def _not_taken(code: str, row: Model, table: str, field: str, why: str) -> Refused:
    place = {"table": table, "row": row.pk, "field": field}
    return Refused(code, say("{table}, row {row}, {field}: {why}.", **place, why=why))


def _references_hold(alias: str) -> None:
    try:
        connections[alias].check_constraints()
    except DatabaseError as problem:
        says = say(
            "a row that is not there is referred to: {problem}", problem=str(problem).strip()
        )
        raise Refused("not_taken", says) from problem


def _reset_numbers(alias: str) -> None:
    """Let new rows be numbered after those that came."""
    statements = connections[alias].ops.sequence_reset_sql(no_style(), _models())
    with connections[alias].cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)
