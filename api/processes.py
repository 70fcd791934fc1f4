"""Run a few processes as one: started together, stopped together, none missed when it dies."""

import os
import signal
import subprocess
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from types import FrameType

#: Seconds between asking a process to stop and ending it: a sweep that is sending takes 25 at most.
GRACE = 35.0
GLANCE = 0.1  # seconds between two looks at the processes

Processes = dict[str, subprocess.Popen[bytes]]


class StopAsked:
    """True once SIGTERM or SIGINT has come in."""

    def __init__(self) -> None:
        self.by = 0

    def __bool__(self) -> bool:
        return self.by != 0

    def hear(self, number: int, _: FrameType | None) -> None:
        """Note the signal; the loop that looks here does the rest."""
        self.by = number


def run_together(
    commands: Mapping[str, Sequence[str]],
    *,
    env: Mapping[str, str],
    is_up: Callable[[], bool],
    on_up: Callable[[], None],
    on_stop: Callable[[], None],
    say: Callable[[str], None],
) -> int:
    """Run named commands until a signal asks for the end or one of them dies; stop them all.

    `on_up` is called once, when `is_up` first answers yes; `on_stop` once, when all have been asked
    to stop. Returns the exit status: 0 after a
    signal, 1 where a process ended by itself. Must be called in the main thread.
    """
    with _listening() as stop_asked:
        children: Processes = {}
        up = False
        try:
            for name, command in commands.items():
                # A session of its own: Ctrl-C reaches this process alone, which then asks each
                # child once. A second signal would tell a worker to drop what it is doing.
                children[name] = subprocess.Popen(command, env=env, start_new_session=True)
            while not stop_asked:
                for name, child in children.items():
                    if child.poll() is not None:
                        say(f"The {name} ended by itself (status {child.returncode}); stopping.")
                        return 1
                if not up and is_up():
                    up = True
                    on_up()
                time.sleep(GLANCE)
            return 0
        finally:
            _stop(children, on_stop=on_stop, say=say)


@contextmanager
def _listening() -> Iterator[StopAsked]:
    asked = StopAsked()
    before = {
        number: signal.signal(number, asked.hear) for number in (signal.SIGTERM, signal.SIGINT)
    }
    try:
        yield asked
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _stop(children: Processes, *, on_stop: Callable[[], None], say: Callable[[str], None]) -> None:
    """Ask each process to stop, wait, and end the whole group of one that does not."""
    for child in children.values():
        if child.poll() is None:
            child.terminate()
    on_stop()
    until = time.monotonic() + GRACE
    for name, child in children.items():
        try:
            child.wait(timeout=max(0.0, until - time.monotonic()))
        except subprocess.TimeoutExpired:
            say(f"The {name} did not stop within {GRACE:.0f} s and was ended.")
            os.killpg(child.pid, signal.SIGKILL)
            child.wait()
