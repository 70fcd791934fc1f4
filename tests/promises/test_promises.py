"""The table of promises names tests that are there, and tells the truth about a run."""

from pathlib import Path

import pytest

from tests.promises import told
from tests.promises.table import TABLE, Promise

TESTS = Path(__file__).resolve().parents[1]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: row.mark)
def test_each_promise_names_tests_that_are_there(row: Promise) -> None:
    assert row.tests
    for name in row.tests:
        path, _, function = name.partition("::")
        assert (TESTS / path).exists(), name
        assert not function or f"def {function}(" in (TESTS / path).read_text(), name


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
