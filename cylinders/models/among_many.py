"""A look-up for thousands of values: one short statement, whatever their number."""

import json
from collections.abc import Collection
from typing import Any

from django.db.models import Field, Lookup


@Field.register_lookup
class AmongMany(Lookup):
    """``name__among_many=values``: as ``in``, with one parameter however many values there are.

    An index serves it on both engines.
    """

    lookup_name = "among_many"
    prepare_rhs = False
    rhs: Collection[Any]

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, tuple[Any, ...]]:
        """The condition for SQLite, which takes the values as one JSON text."""
        left, values = self.process_lhs(compiler, connection)
        many = json.dumps(list(self.rhs), default=str)
        return f"{left} IN (SELECT value FROM json_each(%s))", (*values, many)  # noqa: S608 - the column is the ORM's

    def as_postgresql(self, compiler: Any, connection: Any) -> tuple[str, tuple[Any, ...]]:
        """The condition for PostgreSQL, which takes them as an array."""
        left, values = self.process_lhs(compiler, connection)
        return f"{left} = ANY(%s)", (*values, list(self.rhs))
