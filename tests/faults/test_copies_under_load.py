"""Copies that are taken while people write: each one is of one moment, and whole."""

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.faults.live import ROOT, Live

WRITERS = 2


@contextmanager
def written_to(live: Live) -> Iterator[None]:
    """Somebody writes all the while."""
    words = [sys.executable, "-m", "tests.faults.scribbler"]
    writers = [
        subprocess.Popen(words, cwd=ROOT, env=live.env, stdout=subprocess.PIPE)
        for _ in range(WRITERS)
    ]
    try:
        for writer in writers:
            assert writer.stdout
            assert writer.stdout.readline() == b"writing\n"
        yield
        assert [writer.poll() for writer in writers] == [None] * WRITERS, "still writing"
    finally:
        for writer in writers:
            writer.kill()
            writer.communicate()


@pytest.mark.parametrize(
    "count", [2, pytest.param(200, marks=pytest.mark.long)], ids=["few", "many"]
)
def test_each_copy_taken_under_load_is_whole(live: Live, tmp_path: Path, count: int) -> None:
    live.run("tests.faults.volume", "5", "20")
    if not live.database.startswith("sqlite"):
        count = min(count, 40)  # each is restored into a database of its own
    with written_to(live):
        found = json.loads(live.run("tests.faults.copies", str(tmp_path), str(count)))
    assert found["whole"] == count
    first, last = found["events"]
    assert last > first, "there was something to miss"
    sys.stdout.write(f"\n{count} copies whole, {first} to {last} events")
    sys.stdout.write(f"; copied as plain files: {found['raw_broken']} of {count} broken\n")
