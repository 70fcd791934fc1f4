"""The table of promises names tests that are there, and tells the truth about a run."""

from pathlib import Path

import pytest

from tests.promises import told
from tests.promises.security import ASVS, LISTS, Control
from tests.promises.table import TABLE, Promise

TESTS = Path(__file__).resolve().parents[1]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.mark)
def test_each_promise_names_tests_that_are_there(row: Promise) -> None:
    assert row.tests
    assert not [name for name in row.tests if not is_there(name)]


def is_there(name: str) -> bool:
    """Whether ``file::test`` or a file or folder of tests exists."""
    path, _, function = name.partition("::")
    where = TESTS / path
    return where.exists() and (not function or f"def {function}(" in where.read_text())


@pytest.mark.parametrize("row", [row for rows in LISTS.values() for row in rows], ids=str)
def test_each_control_names_tests_that_are_there_or_a_reason(row: Control) -> None:
    assert row.tests or len(row.reason.split()) > 10, "neither shown nor explained"
    assert not [name for name in row.tests if not is_there(name)]


def test_the_lists_are_whole() -> None:
    assert len(ASVS) >= 27
    marks = [row.mark for rows in LISTS.values() for row in rows]
    assert len(set(marks)) == len(marks)
    assert [row.mark for row in LISTS["OWASP API Security Top 10, 2023"]] == [
        f"API{number}" for number in range(1, 11)
    ]


def test_a_failed_test_is_told_as_not_met() -> None:
    [row] = [row for row in TABLE if row.mark == "R5"]
    node = f"tests/{row.tests[0]}"
    assert told.reached(row, {node: "passed"}) == "met, 1 tests passed"
    assert told.reached(row, {node: "failed"}).startswith("NOT MET")
    assert told.reached(row, {}) == "not run here"
    assert told.reached(row, {node: "skipped"}) == "not run here"


def test_marks_are_given_once() -> None:
    marks = [row.mark for row in TABLE]
    assert len(set(marks)) == len(marks)
