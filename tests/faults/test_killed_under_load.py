"""Server or database is killed while people work: what was acknowledged is there, and once.

SIGKILL is not a power cut: what the operating system had not written yet is not lost by it.
"""

import json
import random
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import pytest

from tests import servers
from tests.faults.hands import Hands
from tests.faults.live import Live
from tests.faults.test_two_at_once import select

PEOPLE = 4
#: how long a browser goes on asking for one answer
PATIENCE = 120.0
LONGEST_DELAY = 0.01  # seconds from the answer at which a kill is due to the kill


@dataclass
class Log:
    """What was acknowledged to somebody, and how often they had to ask again."""

    acknowledged: list[int] = field(default_factory=list)
    again: int = 0

    def fit(self, hands: Hands, wall: list[tuple[int, str, int]]) -> None:
        """One bag after the other, each until there is an answer; the form keeps its number."""
        for order, code, part in wall:
            until = time.monotonic() + PATIENCE
            while time.monotonic() < until:
                if self._pressed(hands, order, code, part):
                    self.acknowledged.append(part)
                    break
                self.again += 1
                time.sleep(0.02)
        hands.close()

    def _pressed(self, hands: Hands, order: int, code: str, part: int) -> bool:
        try:
            status, _where = hands.press(
                f"/bench/orders/{order}/reassembly/", f"bag {part}", do="offer", code=code
            )
        except OSError:
            return False
        return status == 302


def work(live: Live, bags: int, kills: int, kill: Callable[[], None]) -> list[Log]:
    """Let everybody fit their bags while ``kill`` is called so many times, and no fewer.

    The kills are spread over the work: each is due at a number of answers, a moment after it.
    """
    world = json.loads(live.run("tests.faults.bags", str(bags), str(PEOPLE)))
    live.start()
    wall, logs = world["wall"], [Log() for _ in range(PEOPLE)]
    people = [Hands(live.port, name, key, 5.0) for name, key in world["sessions"].items()]
    ended = threading.Event()
    done: list[int] = []

    def keep_killing() -> None:
        draw = random.Random(bags)
        while len(done) < kills and not ended.is_set():
            if answered() * (kills + 1) < bags * (len(done) + 1):
                time.sleep(0.001)
                continue
            time.sleep(draw.uniform(0, LONGEST_DELAY))
            kill()
            done.append(len(done))

    def answered() -> int:
        return sum(len(log.acknowledged) for log in logs)

    killer = threading.Thread(target=keep_killing)
    with ThreadPoolExecutor(PEOPLE) as pool:
        killer.start()
        jobs = [
            pool.submit(log.fit, hands, wall[place::PEOPLE])
            for place, (log, hands) in enumerate(zip(logs, people, strict=True))
        ]
        for job in jobs:
            job.result()
        ended.set()
        killer.join()
    assert len(done) == kills, "the work was over before the last kill: give it more bags"
    return logs


def nothing_is_missing(live: Live, bags: int, logs: list[Log]) -> None:
    acknowledged = [part for log in logs for part in log.acknowledged]
    fitted = select(live, "SELECT id FROM cylinders_part WHERE whereabouts = 'fitted'")
    assert {part for (part,) in fitted} >= set(acknowledged), "acknowledged, and lost"
    assert len(acknowledged) == bags, "somebody never got an answer"
    told = select(
        live, "SELECT count(*) FROM cylinders_serviceevent WHERE kind = 'part:reassembly:fitted'"
    )
    assert told == [(bags,)], "fitted twice, or told twice"
    assert "nothing altered" in live.run("django", "verify")


SIZES = [pytest.param(16, 1), pytest.param(2_000, 20, marks=pytest.mark.long)]


@pytest.mark.parametrize(("bags", "kills"), SIZES, ids=["a few", "many"])
def test_what_a_killed_web_server_acknowledged_is_kept(live: Live, bags: int, kills: int) -> None:
    def kill() -> None:
        live.kill()
        live.start()

    logs = work(live, bags, kills, kill)
    nothing_is_missing(live, bags, logs)


@pytest.mark.long
@pytest.mark.parametrize(("bags", "kills"), SIZES, ids=["a few", "many"])
def test_what_a_killed_database_had_confirmed_is_kept(
    own_postgresql: servers.Server, tmp_path_factory: pytest.TempPathFactory, bags: int, kills: int
) -> None:
    live = Live(tmp_path_factory.mktemp("service"), own_postgresql.url)
    standing = [own_postgresql]

    def kill() -> None:
        standing[0] = standing[0].fall()

    try:
        logs = work(live, bags, kills, kill)
        nothing_is_missing(live, bags, logs)
    finally:
        live.kill()
        standing[0].stop()
