"""What the queue costs a reminder, against sending into memory; and how quickly a day is enqueued.

A woken task claims a hundred customers, so 25,000 reminders are 250 tasks. The worker is the one
that ``serve`` starts, on a Valkey of its own; the task is the service's smallest one, because what
a reminder's own work costs is not the queue's. Done is when nothing waits and nothing is under way.
"""

import gc
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Iterator
from typing import Any

from tests.benchmarks import serving
from tests.benchmarks.machine import Watch
from tests.benchmarks.runner import ATTEMPTS, ROUNDS, Result, Round, Target, Took, gate, judge

REMINDERS, IN_A_TASK, MAILS = 25_000, 100, 600
FLOOR = "the same reminders as messages into memory, one after the other, without a queue"
OVERHEAD = Target(
    "queue_overhead", "queue", FLOOR, 1.0, f"{REMINDERS} reminders, a task for each {IN_A_TASK}"
)


def run(rounds: int | None = None) -> Iterator[Result]:
    """Both targets; the two cases of a round follow each other, the order turns."""
    redis = serving.valkey()
    os.environ["REDIS_URL"] = redis.url
    worker = subprocess.Popen(
        [sys.executable, "-m", "celery", "--quiet", "-A", "tests.benchmarks.queue_app", *_HOW],
        cwd=serving.ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield from _measured(redis.url, rounds or ROUNDS)
    finally:
        worker.terminate()
        worker.wait(30)
        redis.stop()
        del os.environ["REDIS_URL"]


_HOW = ("worker", "--pool=threads", "--concurrency=4", "--without-gossip", "--without-mingle")


def _measured(url: str, rounds: int) -> Iterator[Result]:
    import redis  # noqa: PLC0415 - wanted here alone

    from tests.benchmarks.queue_app import app, tick  # noqa: PLC0415 - after REDIS_URL is set

    line = redis.Redis.from_url(url)
    _through(line, tick, 5)
    enqueued: list[float] = []
    attempts = ATTEMPTS if rounds >= ROUNDS else 1
    for attempt in range(1, attempts + 1):  # as a race is run again where it was too noisy
        result = _rounds(line, tick, rounds, enqueued)
        if not result.noisy or attempt == attempts:
            break
    app.close()
    yield result
    yield gate(
        "queue_enqueue",
        measured=statistics.median(enqueued),
        at_most=1.0,
        floor="1 second",
        what=f"seconds to enqueue {REMINDERS} reminders",
    )


def _rounds(line: Any, tick: Any, rounds: int, enqueued: list[float]) -> Result:
    watch, took = Watch(), list[Round]()
    for turn in range(rounds):
        one: dict[str, Took] = {}
        for name in ("queue", FLOOR)[:: -1 if turn % 2 else 1]:
            gc.collect()
            if name == FLOOR:
                seconds = _mailed(MAILS) / MAILS
            else:
                sent, done = _through(line, tick, REMINDERS // IN_A_TASK)
                enqueued.append(sent)
                seconds = done / REMINDERS
            one[name] = Took(seconds, seconds)
        took.append(one)
    return judge(OVERHEAD, took, others=watch.by_others())


def _through(line: Any, tick: Any, count: int) -> tuple[float, float]:
    """Seconds to enqueue so many tasks, and until the worker has done them all."""
    began = time.perf_counter()
    for _ in range(count):
        tick.delay()
    sent = time.perf_counter() - began
    while line.llen("celery") or line.hlen("unacked"):
        time.sleep(0.002)
    return sent, time.perf_counter() - began


def _mailed(count: int) -> float:
    from django.core import mail  # noqa: PLC0415 - after ground.settle()

    mail.outbox = []
    began = time.perf_counter()
    for number in range(count):
        mail.send_mail(
            "Due in November", f"Cylinder {number} is due.", "a@example.org", ["b@example.org"]
        )
    return time.perf_counter() - began
