"""Processes that run as one: each death is noticed, and nothing is left behind."""

import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from api import processes

SLEEPS = [sys.executable, "-c", "import time; time.sleep(60)"]
DIES = [sys.executable, "-c", "raise SystemExit(7)"]
STUBBORN = """
import pathlib, signal, sys, time
signal.signal(signal.SIGTERM, signal.SIG_IGN)
pathlib.Path(sys.argv[1]).touch()
time.sleep(60)
"""


def run(
    commands: dict[str, list[str]],
    *,
    is_up: Callable[[], bool] = lambda: True,
    on_up: Callable[[], None] = lambda: None,
) -> tuple[int, list[str]]:
    said: list[str] = []
    status = processes.run_together(
        commands,
        env=dict(os.environ),
        is_up=is_up,
        on_up=on_up,
        on_stop=lambda: said.append("stopping"),
        say=said.append,
    )
    return status, said


def signal_soon(number: int) -> None:
    threading.Timer(0.3, os.kill, (os.getpid(), number)).start()


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_stops_all_and_is_no_failure(number: int) -> None:
    began = time.monotonic()
    status, said = run({"one": SLEEPS, "two": SLEEPS}, on_up=lambda: signal_soon(number))
    assert status == 0
    assert said == ["stopping"]
    assert time.monotonic() - began < 5


def test_one_that_dies_takes_the_other_with_it_and_is_named() -> None:
    status, said = run({"web": SLEEPS, "worker": DIES}, is_up=lambda: False)
    assert status == 1
    assert said == ["The worker ended by itself (status 7); stopping.", "stopping"]


def test_one_that_will_not_stop_is_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(processes, "GRACE", 0.5)
    deaf = tmp_path / "deaf"
    status, said = run(
        {"deaf": [sys.executable, "-c", STUBBORN, str(deaf)]},
        is_up=deaf.exists,
        on_up=lambda: signal_soon(signal.SIGTERM),
    )
    assert status == 0
    assert said[-1].startswith("The deaf did not stop within")


def test_the_handlers_of_before_come_back() -> None:
    before = signal.getsignal(signal.SIGTERM)
    run({"worker": DIES})
    assert signal.getsignal(signal.SIGTERM) is before


def test_a_program_that_does_not_exist_leaves_no_other_running() -> None:
    with pytest.raises(FileNotFoundError):
        run({"one": SLEEPS, "two": ["/no/such/program"]})
