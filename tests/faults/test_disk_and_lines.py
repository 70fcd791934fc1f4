"""Disk full, disk read-only, database gone, broker gone: a plain refusal, and nothing half stored.

The disk is a small one of memory; only root may mount it, so elsewhere these are skipped.
"""

import json
import os
import sqlite3
import subprocess
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import psycopg
import pytest

from tests import servers
from tests.faults.hands import Hands
from tests.faults.live import Live
from tests.faults.test_two_at_once import select

_MOUNT = "/bin/mount"
ROOM = 6  # MB


@contextmanager
def small_disk(where: Path) -> Iterator[None]:
    """A disk of a few megabytes, where this process may mount one."""
    where.mkdir()
    made = subprocess.run(
        [_MOUNT, "-t", "tmpfs", "-o", f"size={ROOM}m", "tmpfs", str(where)],
        check=False,
        capture_output=True,
    )
    if made.returncode:
        pytest.skip("this process may not mount a disk")
    try:
        yield
    finally:
        subprocess.run(["/bin/umount", "-l", str(where)], check=False)


def fit_all(live: Live, world: dict[str, object]) -> Counter[int]:
    """Every bag of the wall, one after the other; the statuses that came back."""
    sessions, wall = world["sessions"], world["wall"]
    assert isinstance(sessions, dict)
    assert isinstance(wall, list)
    [(name, key)] = sessions.items()
    hands = Hands(live.port, name, key)
    try:
        return Counter(
            hands.press(f"/bench/orders/{order}/reassembly/", do="offer", code=code)[0]
            for order, code, _part in wall
        )
    finally:
        hands.close()


def fitted(live: Live) -> int:
    [(count,)] = select(live, "SELECT count(*) FROM cylinders_part WHERE whereabouts = 'fitted'")
    return int(count)


@pytest.mark.long
@pytest.mark.skipif(os.geteuid() != 0, reason="only root may mount a disk")
def test_a_full_disk_refuses_plainly_and_keeps_what_it_has(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    with small_disk(disk):
        live = Live(disk, f"sqlite:///{disk}/service.sqlite3", more={"LOG_LEVEL": "ERROR"})
        world = json.loads(live.run("tests.faults.bags", "120", "1"))
        live.start()
        try:
            filler = disk / "filler"
            with filler.open("wb", buffering=0) as file, pytest.raises(OSError, match="No space"):
                while True:
                    file.write(bytes(4_096))
            came = fit_all(live, world)
            assert set(came) <= {302, 503}, came
            assert came[503] > 0
            filler.unlink()
            assert fitted(live) == came[302]
            assert "nothing altered" in live.run("django", "verify")
            again = fit_all(live, world)
            assert set(again) == {302}
            assert fitted(live) == 120
        finally:
            live.kill()
        with closing(sqlite3.connect(disk / "service.sqlite3")) as line:
            assert line.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert "nothing altered" in live.run("django", "verify")


@pytest.mark.long
@pytest.mark.skipif(os.geteuid() != 0, reason="only root may mount a disk")
def test_a_read_only_disk_refuses_plainly_and_is_used_again(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    with small_disk(disk):
        live = Live(tmp_path, f"sqlite:///{disk}/service.sqlite3")
        world = json.loads(live.run("tests.faults.bags", "6", "1"))
        live.start()
        assert fitted(live) == 0
        live.kill()  # a disk on which a file is open for writing cannot be made read-only
        try:
            subprocess.run([_MOUNT, "-o", "remount,ro", str(disk)], check=True)
            live.start()
            assert set(fit_all(live, world)) == {503}
            subprocess.run([_MOUNT, "-o", "remount,rw", str(disk)], check=True)
            assert set(fit_all(live, world)) == {302}
            assert fitted(live) == 6
        finally:
            live.kill()


@pytest.mark.long
def test_a_session_that_is_cut_costs_one_request_at_most(
    own_postgresql: servers.Server, tmp_path_factory: pytest.TempPathFactory
) -> None:
    live = Live(tmp_path_factory.mktemp("service"), own_postgresql.url)
    world = json.loads(live.run("tests.faults.bags", "40", "1"))
    live.start()
    ended, cuts = threading.Event(), [0]

    def cut() -> None:
        with psycopg.connect(own_postgresql.url, autocommit=True) as line:
            while not ended.wait(0.1):
                [(count,)] = line.execute(
                    "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity "
                    "WHERE pid <> pg_backend_pid() AND backend_type = 'client backend'"
                ).fetchall()
                cuts[0] += count

    cutter = threading.Thread(target=cut)
    cutter.start()
    try:
        came = fit_all(live, world)
        ended.set()
        cutter.join()
        assert set(came) <= {302, 503}, came
        assert came[503] <= cuts[0]
        assert fitted(live) >= came[302], "acknowledged, and lost"
        assert set(fit_all(live, world)) == {302}
        assert fitted(live) == 40
        assert "nothing altered" in live.run("django", "verify")
    finally:
        ended.set()
        live.kill()


@pytest.mark.long
def test_without_the_broker_the_bench_goes_on(tmp_path: Path) -> None:
    broker = servers.valkey()
    live = Live(tmp_path, f"sqlite:///{tmp_path}/service.sqlite3", more={"REDIS_URL": broker.url})
    world = json.loads(live.run("tests.faults.bags", "12", "1"))
    live.start()
    try:
        broker.stop()
        began = time.monotonic()
        assert set(fit_all(live, world)) == {302}
        assert fitted(live) == 12
        assert (time.monotonic() - began) / 12 < 2, "each scan waits for what is not there"
    finally:
        live.kill()
        broker.stop()
