"""More requests than the machine carries: some work, a few wait, the others are told so at once."""

import json
import threading
from collections.abc import Iterable
from typing import Any

import pytest

from api.shedding import Shedding


class Slow:
    """An application whose requests stay inside until they are let out."""

    def __init__(self) -> None:
        self.out = threading.Event()
        self.inside = threading.Semaphore(0)

    def __call__(self, _environ: dict[str, Any], start: Any) -> Iterable[bytes]:
        self.inside.release()
        self.out.wait(10)
        start("200 OK", [])
        return [b"done"]


def ask(app: Any, path: str = "/bench/") -> tuple[str, dict[str, str], bytes]:
    said: list[Any] = []
    body = b"".join(app({"PATH_INFO": path}, lambda *words: said.append(words)))
    return said[0][0], dict(said[0][1]), body


def in_the_background(app: Any, answers: list[str]) -> threading.Thread:
    thread = threading.Thread(target=lambda: answers.append(ask(app)[0]))
    thread.start()
    return thread


def test_whoever_finds_no_room_is_told_at_once_and_the_others_are_served() -> None:
    slow = Slow()
    app = Shedding(slow, at_once=2, waiting=0)
    answers: list[str] = []
    threads = [in_the_background(app, answers) for _ in range(2)]
    assert all(slow.inside.acquire(timeout=10) for _ in threads)
    status, headers, body = ask(app)
    assert status.startswith("503")
    assert headers["Retry-After"] == "2"
    assert headers["Cache-Control"] == "private, no-store"
    assert b"Nothing was done or lost" in body
    slow.out.set()
    for thread in threads:
        thread.join(10)
    assert answers == ["200 OK", "200 OK"]
    assert ask(app)[0] == "200 OK"


def test_a_few_wait_and_are_served_when_there_is_room() -> None:
    slow = Slow()
    app = Shedding(slow, at_once=1, waiting=1, patience=10)
    answers: list[str] = []
    first = in_the_background(app, answers)
    assert slow.inside.acquire(timeout=10)
    second = in_the_background(app, answers)
    slow.out.set()
    first.join(10)
    second.join(10)
    assert answers == ["200 OK", "200 OK"]


def test_nobody_waits_longer_than_the_patience() -> None:
    slow = Slow()
    app = Shedding(slow, at_once=1, waiting=1, patience=0.01)
    thread = in_the_background(app, [])
    assert slow.inside.acquire(timeout=10)
    assert ask(app)[0].startswith("503")
    slow.out.set()
    thread.join(10)


def test_a_lab_s_program_gets_a_problem_document() -> None:
    app = Shedding(Slow(), at_once=0, waiting=0)
    _, headers, body = ask(app, "/api/v1/test-records")
    assert headers["Content-Type"] == "application/problem+json"
    assert json.loads(body)["status"] == 503


@pytest.mark.parametrize("path", ["/livez", "/readyz"])
def test_whoever_watches_is_always_answered(path: str) -> None:
    slow = Slow()
    slow.out.set()
    assert ask(Shedding(slow, at_once=0, waiting=0), path)[0] == "200 OK"


def test_a_mistake_inside_gives_the_place_back() -> None:
    def broken(*_: Any) -> Iterable[bytes]:
        raise ValueError("mistake")

    app = Shedding(broken, at_once=1, waiting=0)
    for _turn in range(3):
        with pytest.raises(ValueError, match="mistake"):
            ask(app)
