"""Mixed traffic on the whole service, against the same requests when nobody else asks.

Strangers scan tags, staff open pages, a lab uploads and reminders are swept, all at once, at a pace
that is kept whether answers come or not. Then a rush of ten times as many for some seconds: whoever
finds no room must hear 503 at once, and afterwards all must be as before. The short run is part of
``bench``; ``python -m tests.benchmarks.load --seconds 600`` is the long one, which also tells by
how much memory grows.
"""

import argparse
import itertools
import os
import random
import statistics
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.benchmarks import ground, serving
from tests.benchmarks.runner import Result, gate

CYLINDERS, EVENTS = 2_000, 8
#: a cylinder in two hundred has a reminder due; the others were tested lately
MONTHS = ("2021-11", *["2025-06"] * 199)
#: requests a second of each kind; in a rush scans come as fast as four times the people can ask,
#: and more than ten times as many as before
PACE = {"scan": 8.0, "page": 1.5, "upload": 1.0}
RUSH = 10
CLIENTS, CLIENTS_IN_A_RUSH = 24, 96
GOOD = frozenset({200, 201, 302, 304})
SHED = frozenset({429, 503})
#: 95th of a hundred under load over the idle one: told, and held only against a collapse
MOST_SLOWER = 40.0
RECOVERS_IN = 10.0  # seconds


@dataclass
class Seen:
    """What came back, by kind: seconds of each answer, and how often each status."""

    took: dict[str, list[float]] = field(default_factory=dict)
    statuses: Counter[tuple[str, int]] = field(default_factory=Counter)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def note(self, kind: str, status: int, seconds: float) -> None:
        """One answer; 0 where there was none."""
        with self.lock:
            self.took.setdefault(kind, []).append(seconds)
            self.statuses[kind, status] += 1

    def percentile(self, kind: str, part: float) -> float:
        """Seconds within which that part of the answers came."""
        took = sorted(self.took.get(kind, [0.0]))
        return took[min(len(took) - 1, int(part * len(took)))]

    def bad(self) -> int:
        """How many answers were neither good nor shed."""
        return sum(n for (_, status), n in self.statuses.items() if status not in GOOD | SHED)

    def shed(self) -> int:
        """How many were told to come again."""
        return sum(n for (_, status), n in self.statuses.items() if status in SHED)

    def __str__(self) -> str:
        rows = sorted(self.statuses.items())
        return ", ".join(f"{kind} {status}: {n}" for (kind, status), n in rows)


class Traffic:
    """The people: each kind of request in turn, on its own pace."""

    def __init__(self, port: int, cast: serving.Cast) -> None:
        self.port, self.cast = port, cast
        self.alone = os.environ | {
            "CYLINDERS_NO_BOOTSTRAP": "1",
            "DATABASE_URL": ground.address(),
            "DJANGO_SETTINGS_MODULE": "api.settings",
        }
        self.numbers = itertools.count(1)
        self.chance = random.Random(1)

    def once(self, kind: str, seen: Seen) -> None:
        """Ask once and note what came of it."""
        number = next(self.numbers)
        place = self.chance.randrange(len(self.cast.codes))
        began = time.monotonic()
        try:
            status = self._ask(kind, number, place)
        except OSError:
            status = 0
        seen.note(kind, status, time.monotonic() - began)

    def _ask(self, kind: str, number: int, place: int) -> int:
        code = self.cast.codes[place]
        if kind == "scan":
            return serving.ask(self.port, "GET", f"/t/{code}")[0]
        if kind == "page":
            path = self.cast.pages[number % len(self.cast.pages)].format(cylinder=place + 1)
            return serving.ask(self.port, "GET", path, headers=self.cast.staff)[0]
        body, headers = serving.record(number, serial=f"KX{place:08d}", code=code)
        path, sent = "/api/v1/test-records", {**headers, **self.cast.lab}
        return serving.ask(self.port, "POST", path, headers=sent, body=body)[0]

    def flow(
        self, seconds: float, *, times: float = 1.0, sweeps: bool = True, clients: int = CLIENTS
    ) -> Seen:
        """All kinds at once on their pace for so long; a late answer holds nobody up."""
        seen, until = Seen(), time.monotonic() + seconds
        kinds = [(kind, pace * (times if kind == "scan" else 1.0)) for kind, pace in PACE.items()]
        jobs: list[Callable[[], None]] = []
        for kind, pace in kinds:
            hands = max(1, round(clients * pace / sum(p for _, p in kinds)))
            jobs += [self._hand(kind, hands / pace, until, seen) for _ in range(hands)]
        if sweeps:
            jobs.append(self._sweeping(until, seen))
        threads = [threading.Thread(target=job) for job in jobs]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return seen

    def _hand(self, kind: str, every: float, until: float, seen: Seen) -> Callable[[], None]:
        def work() -> None:
            at = time.monotonic() + self.chance.random() * every
            while at < until:
                time.sleep(max(0.0, at - time.monotonic()))
                self.once(kind, seen)
                at += every

        return work

    def _sweeping(self, until: float, seen: Seen) -> Callable[[], None]:
        def work() -> None:
            while time.monotonic() < until:
                done = subprocess.run(
                    [sys.executable, "manage.py", "sweep"],
                    cwd=serving.ROOT,
                    env=self.alone,
                    capture_output=True,
                    check=False,
                )
                seen.note("sweep", 200 if done.returncode == 0 else 500, 0.0)
                time.sleep(5)

        return work


@dataclass
class Figures:
    """What a run came to."""

    idle: Seen
    busy: Seen
    rush: Seen
    connections: list[int]
    memory: list[tuple[float, float]]
    recovered_in: float


def measure(*, seconds: float, rush: float) -> Figures:
    """Fill a world, serve it, and let people use it: alone, together, in a rush, and after."""
    from tests.benchmarks import world  # noqa: PLC0415 - after ground.settle()

    with ground.database():
        codes = world.fill(world.live_once(events=EVENTS), CYLINDERS, months=MONTHS).codes
        people = serving.cast(codes)
        redis = serving.valkey()
        log = Path(os.environ["VAR_DIR"]) / "serve.log"
        try:
            with serving.served(database=ground.address(), redis=redis.url, log=log) as one:
                return _used(one, Traffic(one.port, people), seconds=seconds, rush=rush)
        finally:
            redis.stop()


def _used(one: serving.Served, traffic: Traffic, *, seconds: float, rush: float) -> Figures:
    traffic.flow(3, times=RUSH, sweeps=False)  # every thread has its connection, every module is in
    idle = _idle(traffic)
    memory: list[tuple[float, float]] = []
    connections: list[int] = []
    over = threading.Event()

    def watch() -> None:
        while not over.wait(max(1.0, seconds / 60)):
            each = one.memory()
            memory.append((time.monotonic(), sum(each.values())))
            sys.stderr.write(f"  (MB {' '.join(f'{size:.1f}' for size in each.values())})\n")
            connections.append(ground.connections())

    watcher = threading.Thread(target=watch)
    watcher.start()
    busy = traffic.flow(seconds)
    over.set()
    watcher.join()
    rushed = traffic.flow(rush, times=RUSH * 10, sweeps=False, clients=CLIENTS_IN_A_RUSH)
    return Figures(idle, busy, rushed, connections, memory, _recovery(traffic, idle))


def _idle(traffic: Traffic) -> Seen:
    seen = Seen()
    for _turn in range(20):
        for kind in PACE:
            traffic.once(kind, seen)
    return seen


def _recovery(traffic: Traffic, idle: Seen) -> float:
    """Seconds after the rush until ten scans in a row are as quick as three idle ones."""
    began, row = time.monotonic(), 0
    while row < 10 and time.monotonic() - began < 3 * RECOVERS_IN:
        seen = Seen()
        traffic.once("scan", seen)
        quick = seen.percentile("scan", 0.5) <= 3 * idle.percentile("scan", 0.95)
        row = row + 1 if quick and not seen.bad() and not seen.shed() else 0
    return time.monotonic() - began


def slope(memory: list[tuple[float, float]]) -> float:
    """Megabytes an hour by which memory grows, over the second half of what was seen."""
    later = memory[len(memory) // 2 :]
    if len(later) < 3:
        return 0.0
    line = statistics.linear_regression([at for at, _ in later], [held for _, held in later])
    return line.slope * 3600


def results(got: Figures, *, seconds: float) -> Iterator[Result]:
    """The targets of a run, each a figure over its limit."""
    many = sum(len(took) for took in got.busy.took.values())
    what = f"{many} requests in {seconds:.0f} s: scans, pages, uploads, sweeps at once"
    bad = got.busy.bad() + got.busy.shed()
    what = f"errors in {what} ({got.busy})"
    yield gate("load_errors", measured=bad, at_most=0.5, floor="none", what=what)
    for kind in PACE:
        slower = got.busy.percentile(kind, 0.95) / got.idle.percentile(kind, 0.95)
        middle = got.busy.percentile(kind, 0.5) / got.idle.percentile(kind, 0.5)
        yield gate(
            f"load_{kind}",
            measured=slower,
            at_most=MOST_SLOWER,
            floor="the same when nobody else asks",
            what=f"95th of a hundred: {slower:.1f} times the idle one,"
            f" {got.busy.percentile(kind, 0.95) * 1000:.0f} ms (median {middle:.1f} times)",
        )
    third = max(1, len(got.connections) // 3)
    before, last = got.connections[third : 2 * third], got.connections[-third:]
    flat = statistics.median(last) - statistics.median(before or last)
    yield gate(
        "load_connections",
        measured=flat,
        at_most=2,
        floor="those of the middle third",
        what=f"connections to the database more at the end (of {max(got.connections)})",
    )
    yield gate(
        "rush_errors",
        measured=got.rush.bad() + (0 if got.rush.shed() else 1),
        at_most=0.5,
        floor="none",
        what=f"neither served nor shed in a rush ({got.rush})",
    )
    yield gate(
        "rush_recovery",
        measured=got.recovered_in,
        at_most=RECOVERS_IN,
        floor=f"{RECOVERS_IN:.0f} s",
        what="seconds after it until ten scans in a row are quick again",
    )


def run(rounds: int | None = None) -> Iterator[Result]:
    """The short run; ``rounds`` has no meaning here."""
    del rounds
    seconds = 20.0
    yield from results(measure(seconds=seconds, rush=5.0), seconds=seconds)


def main() -> int:
    """The long run."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seconds", type=float, default=600.0)
    given = asked.parse_args()
    server = ground.settle()
    try:
        got = measure(seconds=given.seconds, rush=60.0 if given.seconds >= 600 else 10.0)
        told = list(results(got, seconds=given.seconds))
        told.append(
            gate(
                "load_memory",
                measured=max(0.0, slope(got.memory)),
                at_most=1.0,
                floor="1 MB an hour",
                what=f"MB an hour, over the second half ({got.memory[-1][1]:.0f} MB in all)",
            )
        )
    finally:
        server.stop()
    for one in told:
        sys.stdout.write(f"{'ok' if one.ok else 'MISSED':7}{one.name:18}{one.ratio:8} {one.what}\n")
    return 0 if all(one.ok for one in told) else 1


if __name__ == "__main__":
    sys.exit(main())
