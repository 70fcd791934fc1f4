"""A lab's post is committed and the server dies before it has said so: once, and told alike."""

import json
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from http.client import HTTPConnection, HTTPException

import pytest

from tests.faults.live import Live
from tests.faults.test_two_at_once import select

#: how long a lab's program goes on asking for one answer
PATIENCE = 120.0
SIZES = [pytest.param(1, 8), pytest.param(100, 50, marks=pytest.mark.long)]


def post(live: Live, key: str, body: str, number: int) -> tuple[int, bytes]:
    """Send one record under one key until there is an answer that is not "in flight"."""
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until:
        door = HTTPConnection("127.0.0.1", live.port, timeout=30)
        try:
            headers = {
                "Authorization": f"Bearer {key}",
                "Content-Type": "application/json",
                "Idempotency-Key": f"k-{number}",
            }
            door.request("POST", "/api/v1/test-records", body, headers)
            answer = door.getresponse()
            status, raw = answer.status, answer.read()
            if status not in (409, 429, 503):
                return status, raw
        except (OSError, HTTPException):
            pass  # the server is away: ask again, as a lab's program does
        finally:
            door.close()
        time.sleep(0.05)
    raise AssertionError(f"no answer to record {number}")


def again_when_dead(live: Live, ended: threading.Event) -> int:
    """Start the server whenever it is dead; how often that was."""
    deaths = 0
    while not ended.wait(0.02):
        if live.process and live.process.poll() is not None:
            deaths += 1
            live.start()
    return deaths


@pytest.mark.parametrize(("kills", "threads"), SIZES, ids=["once", "a hundred times"])
def test_a_record_whose_server_died_before_the_reply_is_stored_once_and_told_alike(
    live: Live, kills: int, threads: int
) -> None:
    live.door = "tests.faults.dying_door"
    world = json.loads(live.run("tests.faults.many_tanks", str(kills)))
    live.start()
    ended = threading.Event()
    with ThreadPoolExecutor(threads + 1) as pool:
        deaths = pool.submit(again_when_dead, live, ended)
        for number, body in enumerate(world["bodies"]):
            (live.folder / "die").touch()
            asked = [
                pool.submit(post, live, world["key"], json.dumps(body), number)
                for _ in range(threads)
            ]
            heard = {one.result() for one in asked}
            assert len(heard) == 1, heard
            assert heard.pop()[0] == 201
        ended.set()
        assert deaths.result() == kills
    rows = select(live, "SELECT lab_reference, count(*) FROM cylinders_testrecord GROUP BY 1")
    assert sorted(rows) == sorted((f"B-{n}", 1) for n in range(kills))
    assert "nothing altered" in live.run("django", "verify")
