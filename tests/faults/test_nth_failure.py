"""Each operation with its first, second, third ... statement failing: all of it, or nothing."""

import importlib
import inspect
import pkgutil
from types import ModuleType

import pytest
from django.db import OperationalError, connection

import cylinders.operations
import labels.operations
from api import declining, links
from cylinders.operations.reminders import steering
from cylinders.queries.verification import verify
from labels.scanning import tag_problems
from tests.faults import operations, operations_beside
from tests.faults.failing import FailsAt
from tests.model.ground import everything

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

MOST_STATEMENTS = 150
CASES = operations.CASES | operations_beside.CASES


@pytest.mark.parametrize("name", CASES)
@pytest.mark.sampled(of=5)
def test_an_operation_that_fails_at_any_statement_leaves_nothing(name: str) -> None:
    act = CASES[name]()
    before = everything()
    for number in range(1, MOST_STATEMENTS):
        failing = FailsAt(number)
        try:
            with connection.execute_wrapper(failing):
                act()
        except OperationalError:
            assert failing.came_to_it
            assert everything() == before, f"statement {number} left something behind"
        else:
            break
    assert not failing.came_to_it, f"statement {number} failed and the operation went on"
    assert number > 1
    assert everything() != before
    assert verify().problems == ()
    assert list(tag_problems()) == []


def test_every_operation_has_its_case() -> None:
    modules = [*_modules(cylinders.operations), *_modules(labels.operations)]
    modules += [steering, links, declining]
    there = {
        f"{module.__name__.rpartition('.')[2]}.{name}"
        for module in modules
        for name, found in inspect.getmembers(module, inspect.isfunction)
        if hasattr(found, "__wrapped__")
        and found.__module__ == module.__name__
        and not name.startswith("_")
    }
    cases = {name.partition(",")[0] for name in CASES}
    assert there == cases


def _modules(package: ModuleType) -> list[ModuleType]:
    return [
        importlib.import_module(f"{package.__name__}.{found.name}")
        for found in pkgutil.iter_modules(package.__path__)
        if not found.ispkg
    ]
