"""Everything that the page behind a tag follows from, as stored, in one query.

Equal glances give equal pages. So a page may be kept under its glance, and what is kept is never
old: each event changes the row of its cylinder (its count of events and its head at least), and
with it the glance. Nothing has to be purged, and no purge can be lost or come too early.
"""

import json
from dataclasses import dataclass
from functools import cache
from typing import Any, TypeVar
from weakref import WeakSet

from django.db import InterfaceError, OperationalError, connection
from django.db.backends.utils import CursorWrapper
from django.db.models import Model

from cylinders.models import Cylinder, OwnerRow, Shop
from labels.models import Tag, TagKind, TagState

M = TypeVar("M", bound=Model)
_TAG = ("code", "state", "kind")
#: the driver's connections on which the statement stands prepared
_prepared: WeakSet[Any] = WeakSet()


@dataclass(frozen=True, slots=True)
class Glance:
    """A tag with its cylinder and the shop: ``values`` as the database gave them, to compare by."""

    values: tuple[Any, ...]

    @property
    def code(self) -> str:
        """The code of the tag."""
        return str(self.values[0])

    @property
    def state(self) -> TagState:
        """What the tag is."""
        return TagState(self.values[1])

    @property
    def stands_for_cylinder(self) -> bool:
        """Whether it is a live tag of a whole cylinder, durable or for one visit."""
        whole = self.values[2] in (TagKind.CYLINDER, TagKind.TEARDOWN)
        return whole and self.state is TagState.LIVE and self.values[_places()[0]] is not None

    def cylinder(self) -> Cylinder:
        """The cylinder as it is stored; no query."""
        row = _made(Cylinder, self.values[_places()[0] : _places()[1]])
        if isinstance(row.decoded, str):
            row.decoded = json.loads(row.decoded)
        if row.oxygen_clean is not None:
            row.oxygen_clean = bool(row.oxygen_clean)  # SQLite stores 0 and 1
        return row

    def shop(self) -> Shop | None:
        """The shop as it is stored; no query."""
        values = self.values[_places()[1] : _places()[2]]
        return None if values[0] is None else _made(Shop, values)


def at(code: str) -> Glance | None:
    """Look at the tag with that code, cylinder and shop; None where there is no such tag.

    A connection that broke while nobody asked shows here, and the question is put again on a new
    one: it would be asked for its health before each page otherwise, which takes as long as the
    question itself.
    """
    connection.health_check_done = True  # type: ignore[attr-defined] # the stubs leave it out
    try:
        row = _row(code, prepared=connection.vendor == "postgresql")
    except (OperationalError, InterfaceError):
        if connection.in_atomic_block:
            raise
        connection.close()
        row = _row(code, prepared=False)
    return None if row is None else Glance(tuple(row))


def _row(code: str, *, prepared: bool) -> Any:
    """One row, or None; a statement that PostgreSQL has planned before is planned no more."""
    with connection.cursor() as cursor:
        if prepared:
            _prepare_once(cursor)
        cursor.execute("EXECUTE glance(%s)" if prepared else statement(), [code])
        return cursor.fetchone()


def _prepare_once(cursor: CursorWrapper) -> None:
    if connection.connection not in _prepared:
        cursor.execute(f"PREPARE glance(text) AS {statement().replace('%s', '$1')}")
        _prepared.add(connection.connection)


def _made(model: type[M], values: tuple[Any, ...]) -> M:
    return model.from_db(None, [field.attname for field in _fields(model)], values)


def _fields(model: type[Model]) -> list[Any]:
    return list(model._meta.concrete_fields)  # noqa: SLF001 - Django documents it under this name


def _table(model: type[Model]) -> str:
    return str(model._meta.db_table)  # noqa: SLF001 - Django documents it under this name


@cache
def _places() -> tuple[int, int, int]:
    """Where the values of the cylinder begin, where those of the shop begin, and where they end."""
    cylinder = len(_TAG)
    shop = cylinder + len(_fields(Cylinder))
    return cylinder, shop, shop + len(_fields(Shop))


@cache
def statement() -> str:
    """The query, for both engines; the columns are those of the models.

    The owner's figures are only ever added to, so the number of the last row stands for them all.
    """
    columns = [f't."{name}"' for name in _TAG]
    columns += [f'c."{field.column}"' for field in _fields(Cylinder)]
    columns += [f's."{field.column}"' for field in _fields(Shop)]
    return (
        f"SELECT {', '.join(columns)}, (SELECT MAX(id) FROM {_table(OwnerRow)})"  # noqa: S608 - names of our own tables and columns
        f" FROM {_table(Tag)} t"
        f" LEFT JOIN {_table(Cylinder)} c ON c.id = t.cylinder_id"
        f" LEFT JOIN {_table(Shop)} s ON s.id = (SELECT MIN(id) FROM {_table(Shop)})"
        " WHERE t.code = %s"
    )
