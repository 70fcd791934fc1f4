"""A plugin for pytest that breaks one guard of :mod:`tests.faults.guards` before the tests run.

    BREAK_GUARD=encoders python -m pytest -p tests.faults.breaking ...

A module's guard is broken in its source as it is loaded; one of the database by a statement after
the tables were made.
"""

import os
import sys
from importlib.machinery import SourceFileLoader
from types import CodeType
from typing import Any

import pytest

from tests.faults.guards import GUARDS, ROOT, Guard

CHOSEN = os.environ.get("BREAK_GUARD", "")
_FOUND = [guard for guard in GUARDS if guard.name == CHOSEN]


def _break_source(guard: Guard) -> None:
    target = str(ROOT / guard.where)
    as_written = SourceFileLoader.get_code
    if any(getattr(module, "__file__", None) == target for module in sys.modules.values()):
        raise RuntimeError(f"{guard.where} is loaded already: its guard cannot be broken")

    def get_code(loader: SourceFileLoader, fullname: str) -> CodeType | None:
        if loader.path != target:
            return as_written(loader, fullname)
        source = guard.broken()
        return compile(source, target, "exec", dont_inherit=True)

    setattr(SourceFileLoader, "get_code", get_code)  # noqa: B010 - a type checker must not see it


for _guard in _FOUND:
    if _guard.where:
        _break_source(_guard)


@pytest.fixture(scope="session", autouse=True)
def broken_database(django_db_setup: None, django_db_blocker: Any) -> None:
    """Break the guard of the database once the tables stand."""
    from django.db import connection  # noqa: PLC0415 - Django is not set up when this is loaded

    for guard in _FOUND:
        if guard.statement:
            with django_db_blocker.unblock(), connection.cursor() as cursor:
                cursor.execute(guard.statement)
