"""A storm over the reminders: workers, their children and the broker die at random, many times.

Three workers, two of them with a beat, each of them a planner. What arrived is read from the file
that the mail server writes; the service's own word for it is not asked.
"""

import contextlib
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from tests import servers
from tests.post_office import read_file

ROOT = Path(__file__).resolve().parents[2]
WORKERS = 3
_NOTHING = subprocess.DEVNULL

#: An owner each, whose requalification ends with this month, in a zone where it is about noon.
WORLD = """
import datetime as dt, django
django.setup()
from django.core.management import call_command
from cylinders.models import Cylinder
from tests import makers
from tests.cylinders.operations.reminders.cast import at_home, open_shop
call_command("migrate", verbosity=0)
now = dt.datetime.now(dt.UTC)
shift = max(-12, min(14, 12 - now.hour))
open_shop(f"Etc/GMT{{-shift:+d}}" if shift else "Etc/GMT")
today = (now + dt.timedelta(hours=shift)).date()
for n in range({owners}):
    at_home(makers.make_customer(f"Odo{{n}} Quill"), serial=f"W{{n}}")
this = f"{{today:%m}}"
Cylinder.objects.update(requalified=f"{{today.year - 5}}-{{this}}", last_visual=f"{{today:%Y-%m}}")
"""


class Broker(Protocol):
    """Something between beat and workers that can be thrown away while they run."""

    def environment(self) -> dict[str, str]:
        """What the service is told of it."""
        ...

    def die(self) -> None:
        """Lose everything that is under way, and be there again."""
        ...

    def stop(self) -> None:
        """End for good."""
        ...


@dataclass
class Folder:
    """The queue as files: they are removed under the workers' hands."""

    place: Path

    def environment(self) -> dict[str, str]:
        return {}

    def die(self) -> None:
        for path in self.place.glob("*.msg"):
            with contextlib.suppress(OSError):
                path.unlink()

    def stop(self) -> None:
        """Nothing runs."""


class Valkey:
    """A Valkey without a disk, killed and started again on its port."""

    def __init__(self, server: servers.Server) -> None:
        self.url, self.process = server.url, server.process

    def environment(self) -> dict[str, str]:
        return {"REDIS_URL": self.url}

    def die(self) -> None:
        self.stop()
        self.process = subprocess.Popen(self.process.args, stdout=_NOTHING, stderr=_NOTHING)

    def stop(self) -> None:
        self.process.kill()
        self.process.wait()


@dataclass
class Worker:
    """A worker of its own session, which is killed whole, or child by child."""

    env: dict[str, str]
    number: int
    process: "subprocess.Popen[bytes]" = field(init=False)

    def __post_init__(self) -> None:
        self.start()

    def start(self) -> None:
        place = Path(self.env["VAR_DIR"])
        beat = ("-B", "--schedule", str(place / f"beat-{self.number}")) if self.number < 2 else ()
        command = [
            *(sys.executable, "-m", "celery", "--quiet", "-A", "tests.faults.quick_worker"),
            *("worker", *beat, "--pool=prefork", "--concurrency=2", "--without-gossip"),
            *("--without-mingle", "--hostname", f"w{self.number}@here"),
        ]
        with (place / f"worker-{self.number}.log").open("ab") as log:
            self.process = subprocess.Popen(
                command, cwd=ROOT, env=self.env, stdout=log, stderr=log, start_new_session=True
            )

    def kill(self) -> None:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()

    def kill_a_child(self, rng: random.Random) -> bool:
        listed = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        with contextlib.suppress(OSError):
            children = [int(word) for word in listed.read_text().split()]
            if children:
                os.kill(rng.choice(children), signal.SIGKILL)
                return True
        return False


@dataclass
class Outcome:
    """What a storm came to; ``seconds`` from the last fault until nothing was left to send."""

    owners: int
    kills: Counter[str]
    arrived: int
    distinct: int
    addresses: int
    unsure: int
    seconds: float

    @property
    def lost(self) -> int:
        return self.owners - self.addresses

    @property
    def told_twice(self) -> int:
        return self.distinct - self.addresses

    @property
    def folded(self) -> int:
        return self.arrived - self.distinct


def storm(
    folder: Path, broker: Broker, *, owners: int, kills: int, every: float, pause: float, seed: int
) -> Outcome:
    """Let it blow: ``kills`` faults, about ``every`` seconds, while ``owners`` are written to."""
    rng = random.Random(seed)
    env = _environment(folder, broker, pause=pause)
    subprocess.run(
        [sys.executable, "-c", WORLD.format(owners=owners)], cwd=ROOT, env=env, check=True
    )
    workers = [Worker(env, number) for number in range(WORKERS)]
    done: Counter[str] = Counter()
    try:
        while sum(done.values()) < kills:
            time.sleep(rng.uniform(0.3, 1.7) * every)
            done[_fault(rng, workers, broker)] += 1
        # A child that was killed may have been a beat. Whoever watches over the processes starts it
        # again; here that is done once, so that the storm does not end without any clock.
        workers[0].kill()
        workers[0].start()
        ended = time.monotonic()
        while left(folder, owners=owners):
            if time.monotonic() - ended > 900:
                break
            time.sleep(0.5)
        seconds = time.monotonic() - ended
    finally:
        for worker in workers:
            worker.kill()
        broker.stop()
    lines = read_file(folder / "letters")
    names = {name: to for name, to, _ in lines}
    return Outcome(
        owners=owners,
        kills=done,
        arrived=len(lines),
        distinct=len(names),
        addresses=len(set(names.values())),
        unsure=_ask(
            folder, "SELECT count(*) FROM cylinders_serviceevent WHERE kind LIKE '%unsure%'"
        ),
        seconds=seconds,
    )


def _fault(rng: random.Random, workers: list[Worker], broker: Broker) -> str:
    what = rng.choices(("worker", "child", "broker"), weights=(5, 3, 2))[0]
    worker = rng.choice(workers)
    if what == "broker":
        broker.die()
    elif what == "worker" or not worker.kill_a_child(rng):
        what = "worker"
        worker.kill()
        worker.start()
    return what


def _environment(folder: Path, broker: Broker, *, pause: float) -> dict[str, str]:
    (folder / "queue").mkdir(exist_ok=True)
    return {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "api.settings",
        "VAR_DIR": str(folder),
        "TEST_POST_OFFICE": str(folder / "letters"),
        "TEST_POST_PAUSE": str(pause),
        "TEST_LEASE": "12",
        **broker.environment(),
    }


def left(folder: Path, *, owners: int) -> int:
    """How many rows are still to go, or are still to be planned."""
    states = "SELECT count(*) FROM cylinders_notice WHERE duty = 'requalification' AND state"
    waiting = _ask(
        folder,
        f"{states} NOT IN ('sent', 'withdrawn') AND send_on <= date('now', '+14 hours')",
    )
    return waiting + max(0, owners - _ask(folder, f"{states} = 'sent'"))


def _ask(folder: Path, sql: str) -> int:
    with closing(sqlite3.connect(folder / "service.sqlite3", timeout=30)) as database:
        [[count]] = database.execute(sql).fetchall()
    return int(count)
