"""A file with seven bad lines, its worker killed at row after row: none lost, none twice."""

import json

import pytest

from tests.faults.live import Live


@pytest.mark.parametrize(
    ("lines", "step"),
    [(21, 5), pytest.param(500, 1, marks=pytest.mark.long)],
    ids=["few", "five hundred"],
)
def test_a_file_is_stored_once_whatever_row_its_worker_dies_at(
    live: Live, lines: int, step: int
) -> None:
    told = json.loads(live.run("tests.faults.lab_file", str(lines), str(step)))
    good = lines - 7
    assert told["outcomes"] == {"stored": good, "refused": 6, "waiting": 1}
    assert told["kills"] == len(range(0, lines, step))
    assert (told["named"], told["records"], told["torn"]) == (True, good, 0)
    assert told["again"] == [False, 0, 0]
    assert told["sound"]
