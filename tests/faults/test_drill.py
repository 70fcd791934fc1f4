"""The drill: copied, lost, restored; and moved. What comes back is whole, silent and up to date."""

import json
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests import servers
from tests.faults.live import Live
from tests.faults.test_two_at_once import select

pytestmark = pytest.mark.long

SIZES = [(3, 4), (1_000, 100)]
NAMES = ("Bruna Tidewell", "bruna@example.org")


def timed(live: Live, *words: str) -> tuple[str, float]:
    began = time.monotonic()
    return live.run("django", *words), time.monotonic() - began


@pytest.fixture(scope="module")
def table() -> Iterator[list[tuple[str, ...]]]:
    """The drill's report, printed when all is done: `-s` shows it."""
    rows: list[tuple[str, ...]] = [("what", "events", "size", "seconds", "compared")]
    yield rows
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        line = "  ".join(word.ljust(width) for word, width in zip(row, widths, strict=True))
        sys.stdout.write(f"\n{line}")
    sys.stdout.write("\n")


def elsewhere(live: Live, folder: Path, own: servers.Server | None) -> Live:
    """An empty place of the same kind."""
    folder.mkdir()
    return Live(folder, own.url if own else f"sqlite:///{folder}/service.sqlite3")


@pytest.mark.parametrize(("cylinders", "each"), SIZES, ids=["small", "100,000 events"])
def test_an_older_copy_comes_back_whole_silent_and_without_who_was_erased(
    live: Live, tmp_path: Path, cylinders: int, each: int, table: list[tuple[str, ...]]
) -> None:
    live.run("tests.faults.volume", str(cylinders), str(each))
    archive = tmp_path / "copy.zip"
    copied, seconds = timed(live, "backup", str(archive), "--json")
    before = json.loads(copied)
    assert before["events"] >= cylinders * each
    live.run("tests.faults.since_then")
    newest = live.folder / "since.json"
    assert not any(name in newest.read_text() for name in NAMES)
    own = None if live.database.startswith("sqlite") else servers.postgresql()
    try:
        back = elsewhere(live, tmp_path / "back", own)
        restored, took = timed(back, "restore", str(archive), "--since", str(newest), "--json")
        answer = json.loads(restored)
        assert answer["problems"] == []
        assert answer["again"] == {
            "erased": 1,
            "links": 1,
            "keys": 1,
            "declined": 1,
            "consents": 1,
            "webhooks": 0,
            "staff": 1,
        }
        assert answer["events"] == before["events"] + 1, "the end of the link is an event"
        people = select(back, "SELECT name, email FROM cylinders_customer")
        assert not any(name in row for row in people for name in NAMES)
        assert "paused" in back.run("django", "sweep")
        assert "Armed" in back.run("django", "arm")
        assert "nothing altered" in back.run("django", "verify")
        kind, _, _ = live.database.partition(":")
        figures = (str(before["events"]), f"{before['bytes'] / 1e6:.1f} MB")
        table.append((f"backup, {kind}", *figures, f"{seconds:.1f}", "counts, heads, root"))
        table.append((f"restore, {kind}", *figures, f"{took:.1f}", "equal, and verified"))
    finally:
        if own:
            own.stop()


@pytest.mark.parametrize(("cylinders", "each"), SIZES, ids=["small", "100,000 events"])
def test_a_shop_moves_from_sqlite_to_postgresql_row_by_row(
    own_postgresql: servers.Server,
    tmp_path: Path,
    cylinders: int,
    each: int,
    table: list[tuple[str, ...]],
) -> None:
    live = Live(tmp_path, f"sqlite:///{tmp_path}/service.sqlite3")
    live.run("tests.faults.volume", str(cylinders), str(each))
    moved, seconds = timed(live, "move", own_postgresql.url, "--json")
    answer = json.loads(moved)
    assert answer["tables"]["cylinders_serviceevent"] >= cylinders * each
    new = Live(tmp_path, own_postgresql.url)
    assert "nothing altered" in new.run("django", "verify")
    new.run("tests.faults.since_then")  # new rows are numbered after those that came
    assert "nothing altered" in new.run("django", "verify")
    with pytest.raises(subprocess.CalledProcessError) as twice:
        live.run("django", "move", own_postgresql.url)
    assert "is not empty" in twice.value.stderr
    triggers = select(new, "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal")
    assert ("cylinders_serviceevent_no_change",) in triggers
    events = str(answer["tables"]["cylinders_serviceevent"])
    table.append(("move", events, f"{answer['rows']} rows", f"{seconds:.1f}", "equal, row by row"))


def test_what_the_new_database_cannot_hold_ends_the_move_with_its_place(tmp_path: Path) -> None:
    live = Live(tmp_path, f"sqlite:///{tmp_path}/service.sqlite3")
    live.run("tests.faults.volume", "1", "1")
    with closing(sqlite3.connect(tmp_path / "service.sqlite3")) as line, line:
        line.execute("UPDATE cylinders_customer SET name = 'Łucja 🐙' || char(0) WHERE id = 1")
    target = f"sqlite:///{tmp_path}/new.sqlite3"
    with pytest.raises(subprocess.CalledProcessError) as refused:
        live.run("django", "move", target)
    assert refused.value.returncode == 2
    assert "cylinders_customer, row 1, name: a NUL sign" in refused.value.stderr
    new = Live(tmp_path, target)
    assert select(new, "SELECT count(*) FROM cylinders_customer") == [(0,)]
    with closing(sqlite3.connect(tmp_path / "service.sqlite3")) as line, line:
        line.execute("UPDATE cylinders_customer SET name = 'Łucja 🐙 Ōmura' WHERE id = 1")
    other = f"sqlite:///{tmp_path}/other.sqlite3"
    live.run("django", "move", other)
    there = Live(tmp_path, other)
    assert select(there, "SELECT name FROM cylinders_customer WHERE id = 1") == [
        ("Łucja 🐙 Ōmura",)
    ]
    guards = select(there, "SELECT name FROM sqlite_master WHERE type = 'trigger'")
    assert ("cylinders_serviceevent_no_delete",) in guards
