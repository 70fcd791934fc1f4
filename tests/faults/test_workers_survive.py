"""Real workers and beats, killed; the queue is thrown away. The database holds the truth."""

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from tests.post_office import read_file

ROOT = Path(__file__).resolve().parents[2]
OWNERS = 16
KILLS = 2
PATIENCE = 60.0  # seconds

#: An owner each, whose requalification ends with this month, in a zone where it is about noon.
WORLD = f"""
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
for n in range({OWNERS}):
    at_home(makers.make_customer(f"Odo{{n}} Quill"), serial=f"W{{n}}")
this = f"{{today:%m}}"
Cylinder.objects.update(requalified=f"{{today.year - 5}}-{{this}}", last_visual=f"{{today:%Y-%m}}")
"""


def environment(folder: Path, **more: str) -> dict[str, str]:
    return {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "api.settings",
        "VAR_DIR": str(folder),
        "TEST_POST_OFFICE": str(folder / "letters"),
        "TEST_POST_PAUSE": "0.05",
        **more,
    }


@contextmanager
def worker(env: dict[str, str], number: int) -> Iterator[Callable[[], None]]:
    """A worker with its own beat; gives a function that kills it hard."""
    schedule = f"{env['VAR_DIR']}/beat-{number}"
    command = [
        *(sys.executable, "-m", "celery", "--quiet", "-A", "tests.faults.quick_worker", "worker"),
        *("-B", "--pool=threads", "--concurrency=2", "--without-gossip", "--without-mingle"),
        *("--schedule", schedule, "--hostname", f"w{number}@here"),
    ]
    null = subprocess.DEVNULL
    with subprocess.Popen(
        command, cwd=ROOT, env=env, stdout=null, stderr=null, start_new_session=True
    ) as process:

        def kill() -> None:
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()

        try:
            yield kill
        finally:
            kill()


def letters(env: dict[str, str]) -> list[list[str]]:
    return read_file(Path(env["TEST_POST_OFFICE"]))


def wait_until(done: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE
    while not done():
        if time.monotonic() > end:
            raise AssertionError(f"not done after {PATIENCE:.0f} s")
        time.sleep(0.1)


def unsent(env: dict[str, str]) -> int:
    with closing(sqlite3.connect(Path(env["VAR_DIR"]) / "service.sqlite3", timeout=10)) as database:
        [[count]] = database.execute(
            "SELECT count(*) FROM cylinders_notice WHERE state NOT IN ('sent', 'withdrawn')"
            " AND send_on <= date('now', '+14 hours')"
        ).fetchall()
        [[sent]] = database.execute(
            "SELECT count(*) FROM cylinders_notice WHERE state = 'sent'"
        ).fetchall()
    return int(count) + max(0, OWNERS - int(sent))


@pytest.mark.parametrize("broker", ["files", pytest.param("valkey", marks=pytest.mark.long)])
def test_workers_beats_and_queue_die_and_every_owner_is_told_once(
    broker: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    env = environment(tmp_path)
    if broker == "valkey":
        env["REDIS_URL"] = request.getfixturevalue("valkey").url
    subprocess.run([sys.executable, "-c", WORLD], cwd=ROOT, env=env, check=True)
    for kill_number in range(KILLS):
        told = len(letters(env))
        with worker(env, kill_number) as kill:
            enough = min(OWNERS, told + 3)
            wait_until(lambda enough=enough: len(letters(env)) >= enough)  # type: ignore[misc]  # bound at once
            kill()
        if broker == "files":
            shutil.rmtree(tmp_path / "queue")  # and every message under way with it
            (tmp_path / "queue").mkdir()
    with worker(env, 90), worker(env, 91):  # two beats from here on
        wait_until(lambda: unsent(env) == 0)
    lines = letters(env)
    distinct = {name: to for name, to, _ in lines}
    assert len(distinct) == OWNERS
    assert len(set(distinct.values())) == OWNERS
    assert len(lines) - len(distinct) <= KILLS
