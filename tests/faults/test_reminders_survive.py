"""Sweeps that are killed, that run side by side, and that race with the work at the bench."""

import datetime as dt
import os
import random
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from django.db import connection

from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Cylinder, Notice, NoticeState
from cylinders.operations import correction
from cylinders.operations.reminders import plan, sweep
from tests import makers
from tests.cylinders.operations.reminders.cast import BY, at, at_home, run
from tests.post_office import OFFICE, read_file, told

ROOT = Path(__file__).resolve().parents[2]
KILLS = 5
OWNERS = 30
MINUTE = dt.timedelta(minutes=1)


def side_by_side(*actions: Callable[[], object]) -> None:
    """Run the actions in threads that start together; a failure in one is raised here."""
    start, problems = threading.Barrier(len(actions)), []

    def go(action: Callable[[], object]) -> None:
        start.wait()
        try:
            action()
        except Exception as problem:  # noqa: BLE001 - raised again below, in the test's own thread
            problems.append(problem)
        finally:
            connection.close()

    threads = [threading.Thread(target=go, args=(action,)) for action in actions]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    if problems:
        raise problems[0]


@pytest.mark.both_engines
@pytest.mark.django_db(transaction=True)
def test_three_planners_at_once_plan_each_row_once(post_office: None) -> None:
    for number in range(10):
        at_home(serial=f"P{number}")
    on = dt.date(2026, 11, 25)
    side_by_side(*[lambda: plan(on=on) for _ in range(3)])
    rows = list(Notice.objects.values_list("cylinder_id", "duty", "due", "days_before"))
    assert len(rows) == len(set(rows)) == 20
    assert plan(on=on) == 0


@pytest.mark.both_engines
@pytest.mark.django_db(transaction=True)
def test_three_sweeps_at_once_send_each_message_once(post_office: None) -> None:
    for number in range(20):
        at_home(makers.make_customer(f"Odo{number} Quill"), serial=f"S{number}")
    now = at("2026-11-25")
    side_by_side(*[lambda: run(now) for _ in range(3)])
    assert len(OFFICE.arrived) == 20
    assert set(OFFICE.ids.values()) == {1}
    assert set(told(OFFICE.arrived).values()) == {1}
    assert Notice.objects.filter(state=NoticeState.SENT).count() == 20


@pytest.mark.both_engines
@pytest.mark.django_db(transaction=True)
def test_nothing_is_sent_for_a_duty_whose_end_was_recorded_first(post_office: None) -> None:
    race_of_done_against_sent()


@pytest.mark.long
@pytest.mark.both_engines
@pytest.mark.django_db(transaction=True)
def test_in_a_thousand_races_nothing_is_sent_after_it_was_done(post_office: None) -> None:
    ends: Counter[str] = Counter()
    chance = random.Random(25)
    for _ in range(25):
        ends += race_of_done_against_sent(chance)
    print(f"\n{ends}")  # noqa: T201 - the figures of a long run
    assert sum(ends.values()) == 1_000
    assert min(ends[NoticeState.SENT], ends[NoticeState.WITHDRAWN]) > 0


def race_of_done_against_sent(chance: random.Random | None = None) -> Counter[str]:
    """Forty duties are recorded as done while a sweep sends; returns how the forty rows ended.

    With ``chance`` the recording begins at some moment of the sweep, and rests between its steps.
    """
    OFFICE.empty()
    round_of = Cylinder.objects.count()
    homes = [
        at_home(makers.make_customer(f"Odo{round_of + n} Quill"), serial=f"R{n}") for n in range(40)
    ]
    plan(on=dt.date(2026, 11, 25))

    def done() -> None:
        time.sleep(chance.uniform(0, 1) if chance else 0)
        for cylinder in reversed(homes):
            time.sleep(chance.uniform(0, 0.02) if chance else 0)
            correction.correct_marking(
                cylinder_id=cylinder.pk,
                field="requalified",
                becomes="2026-11",
                reason="read again",
                at=makers.NOON,
                by=BY,
            )

    side_by_side(done, lambda: sweep(now=at("2026-11-25"), planning=False))
    states: Counter[str] = Counter()
    for cylinder in homes:
        kinds = [entry.kind for entry in history.timeline(cylinder.pk)]
        row = Notice.objects.get(cylinder=cylinder, duty="requalification", days_before=7)
        states[row.state] += 1
        # The link is issued in the transaction that marks the message as going.
        if row.state == NoticeState.SENT:
            assert kinds.index(Kind.LINK_ISSUED) < kinds.index(Kind.CORRECTED)
        else:
            assert row.state == NoticeState.WITHDRAWN
            assert Kind.LINK_ISSUED not in kinds
    assert len(OFFICE.arrived) == states[NoticeState.SENT]
    assert sum(states.values()) == 40
    return states


@pytest.mark.django_db(transaction=True)
def test_a_sweep_that_slept_past_its_lease_marks_nothing(post_office: None) -> None:
    cylinder = at_home()

    def slept(_: object) -> None:
        OFFICE.fault = None
        assert run(at("2026-11-25", 9, 5)).unsure == 1  # another sweep takes its lease away
        assert run(at("2026-11-25", 9, 25)).messages == 1  # and sends it once more

    OFFICE.fault = slept
    assert run(at("2026-11-25", 9)).sent == 0
    assert list(OFFICE.ids.values()) == [2]
    assert len(OFFICE.folded) == 1
    sent = [e for e in history.timeline(cylinder.pk) if e.kind is Kind.NOTICE_SENT]
    assert len(sent) == 1


def test_nothing_is_lost_and_nothing_told_twice_when_sweeps_are_killed(tmp_path: Path) -> None:
    """SIGKILL at a random moment: what only the receiver saw twice bears the same Message-ID."""
    letters = tmp_path / "letters"
    env = environment(tmp_path, pause="0.01")
    make_world(env)
    now = at("2026-11-25", 9)
    ends = [
        sweep_in_a_process(env, now + kill * 3 * MINUTE, kill_after=0.12 + 0.03 * kill)
        for kill in range(KILLS)
    ]
    assert ends.count(-signal.SIGKILL) >= KILLS // 2
    last = now + 3 * (KILLS - 1) * MINUTE
    for minutes in (4, 15):  # what was claimed, and then what was unsure; all within a quarter hour
        assert sweep_in_a_process(env, last + minutes * MINUTE) == 0
    lines = read_file(letters)
    first = {name: (to, text) for name, to, text in reversed(lines)}
    everything = Counter(line for _, text in first.values() for line in text.splitlines())
    assert len(first) == OWNERS
    assert len({to for to, _ in first.values()}) == OWNERS
    assert set(everything.values()) == {1}
    assert len(lines) - len(first) <= KILLS
    rows = rows_of(tmp_path)
    with closing(sqlite3.connect(tmp_path / "service.sqlite3")) as database:
        [[unsure]] = database.execute(
            "SELECT count(*) FROM cylinders_serviceevent WHERE kind = ?", [Kind.NOTICE_UNSURE]
        ).fetchall()
    assert rows == [("sent", OWNERS)]
    assert len(lines) - len(first) <= unsure <= KILLS


@pytest.mark.long
def test_a_worker_that_was_stopped_past_its_lease_marks_nothing(tmp_path: Path) -> None:
    """SIGSTOP while it holds a claim; what it did not mark another has sent, under one name."""
    env = environment(tmp_path, pause="1.0")
    make_world(env, owners=1)
    now = at("2026-11-25", 9)
    with start_sweep(env, now) as stalled:
        wait_for_state(tmp_path, "sending")
        stalled.send_signal(signal.SIGSTOP)
        quick = env | {"TEST_POST_PAUSE": "0"}
        assert sweep_in_a_process(quick, now + 3 * MINUTE) == 0
        assert rows_of(tmp_path) == [("unsure", 1)]
        assert sweep_in_a_process(quick, now + 14 * MINUTE) == 0
        assert rows_of(tmp_path) == [("sent", 1)]
        stalled.send_signal(signal.SIGCONT)
        assert stalled.wait(timeout=60) == 0
    lines = read_file(tmp_path / "letters")
    assert len({name for name, _, _ in lines}) == 1
    assert 1 <= len(lines) <= 2
    assert rows_of(tmp_path) == [("sent", 1)]
    with closing(sqlite3.connect(tmp_path / "service.sqlite3")) as database:
        events = "SELECT count(*) FROM cylinders_serviceevent WHERE kind = ?"
        assert database.execute(events, [Kind.NOTICE_SENT]).fetchall() == [(1,)]
        assert database.execute(events, [Kind.NOTICE_UNSURE]).fetchall() == [(1,)]


def wait_for_state(folder: Path, state: str) -> None:
    end = time.monotonic() + 30
    while (state, 1) not in rows_of(folder):
        assert time.monotonic() < end, rows_of(folder)
        time.sleep(0.02)


def rows_of(folder: Path) -> list[tuple[str, int]]:
    """The reminders of the seventh day before, counted by their state."""
    with closing(sqlite3.connect(folder / "service.sqlite3")) as database:
        return database.execute(
            "SELECT state, count(*) FROM cylinders_notice WHERE days_before = 7 GROUP BY state"
        ).fetchall()


def environment(folder: Path, *, pause: str) -> dict[str, str]:
    return {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "api.settings",
        "VAR_DIR": str(folder),
        "TEST_POST_OFFICE": str(folder / "letters"),
        "TEST_POST_PAUSE": pause,
    }


def start_sweep(env: dict[str, str], now: dt.datetime) -> "subprocess.Popen[bytes]":
    """A process that sweeps as if it were ``now``, once it is ready to."""
    command = [sys.executable, "-m", "tests.faults.sweeper", now.isoformat()]
    pipe = subprocess.PIPE
    process = subprocess.Popen(command, cwd=ROOT, env=env, stdin=pipe, stdout=pipe)
    assert process.stdout is not None
    assert process.stdin is not None
    assert process.stdout.readline() == b"ready\n"
    process.stdin.write(b"go\n")
    process.stdin.flush()
    return process


def sweep_in_a_process(
    env: dict[str, str], now: dt.datetime, *, kill_after: float | None = None
) -> int:
    """Sweep once; returns the exit status, negative where the process was killed."""
    with start_sweep(env, now) as process:
        try:
            return process.wait(timeout=kill_after or 60)
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGKILL)
            return process.wait()


def make_world(env: dict[str, str], *, owners: int = OWNERS) -> None:
    """A database of its own with one cylinder for each of the owners."""
    code = (
        "import django; django.setup();"
        "from django.core.management import call_command; call_command('migrate', verbosity=0);"
        "from tests import makers;"
        "from tests.cylinders.operations.reminders.cast import at_home, open_shop; open_shop();"
        "odo = lambda n: makers.make_customer(f'Odo{n} Quill');"
        f"[at_home(odo(n), serial=f'K{{n}}') for n in range({owners})]"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, env=env, check=True)
