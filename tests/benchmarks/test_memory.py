"""A request leaves nothing behind in the process: blocks that Python holds, counted, not megabytes.

A served process grows by what its heap keeps for the largest page of each moment, so a run of ten
minutes cannot tell a megabyte an hour. At ten requests a second that is 29 bytes a request: less
than one object. Objects are counted without noise.
"""

import gc
import itertools
import json
import logging
import sys
from collections.abc import Callable, Iterator

import pytest
import time_machine
from django.core.handlers.wsgi import WSGIHandler
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.test import RequestFactory

from cylinders.operations import reminders
from tests import makers
from tests.api.pages.bench.desk import Desk
from tests.api.v1.lab import body, make_lab_client, order_at, tag_of

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]
WINDOWS = 5
MOST = 0.5  # blocks a request that stay in the long test: one object for each would be one at least
#: in the short one caches still fill; whatever keeps a request or an answer keeps dozens
MOST_IN_FEW, MOST_OF_AN_UPLOAD = 15.0, 5.0


@pytest.fixture(autouse=True)
def quiet_noon() -> Iterator[None]:
    """Nothing is logged for the test's report, and its own connection is not closed."""
    logging.disable(logging.CRITICAL)
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    with time_machine.travel(makers.NOON, tick=False):
        yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)
    logging.disable(logging.NOTSET)


def kept(ask: Callable[[], object], *, rounds: int) -> float:
    """Blocks a request that are still held, in the quietest of some windows.

    What fills caches or waits to be freed shows in one window or another; a leak shows in each.
    """
    windows = []
    for _window in range(WINDOWS):
        gc.collect()
        before = sys.getallocatedblocks()
        for _ in range(rounds):
            ask()
        gc.collect()
        windows.append((sys.getallocatedblocks() - before) / rounds)
    return min(windows[1:])


class Served:
    """The service as a web server calls it: the tests' own client keeps something each time."""

    def __init__(self) -> None:
        self.handler, self.factory = WSGIHandler(), RequestFactory()

    def ask(self, method: str, path: str, body: bytes = b"", **headers: str) -> None:
        """One request and its whole answer, which must be a good one."""
        request = self.factory.generic(method, path, body, "application/json", headers=headers)
        told: list[str] = []

        def begin(status: str, *_headers: object) -> Callable[[bytes], object]:
            told.append(status)
            return told.append  # type: ignore[return-value] # nobody calls it

        answer = self.handler(request.environ, begin)
        try:
            assert b"".join(answer)
        finally:
            answer.close()
        assert told[0][0] == "2", told


def asked() -> dict[str, Callable[[], object]]:
    """What strangers, staff, the clock and a lab ask, each about one cylinder at the lab."""
    lab, desk, one, numbers = make_lab_client(), Desk(), Served(), itertools.count()
    order = order_at(lab.lab)
    tag = tag_of(order)
    cookie = "; ".join(f"{name}={sign.value}" for name, sign in desk.client.cookies.items())

    def page(path: str) -> Callable[[], None]:
        return lambda: one.ask("GET", path, cookie=cookie)

    def upload() -> None:
        raw = json.dumps(body(reference=f"R-{next(numbers)}")).encode()
        key = {"authorization": f"Bearer {lab.key}", "idempotency-key": f"key-{next(numbers)}"}
        one.ask("POST", "/api/v1/test-records", raw, **key)

    return {
        "scan": lambda: one.ask("GET", f"/t/{tag.code}"),
        "due": page("/bench/due/"),
        "board": page("/bench/"),
        "cylinder": page(f"/bench/cylinders/{order.cylinder_id}/"),
        "sweep": lambda: reminders.sweep(now=makers.NOON),
        "upload": upload,
    }


def left(
    asking: dict[str, Callable[[], object]], *names: str, rounds: int, most: float
) -> dict[str, float]:
    """Of these the ones that leave more than so many blocks a request."""
    blocks = {name: kept(asking[name], rounds=rounds) for name in names}
    sys.stderr.write(f"{blocks}\n")
    return {name: number for name, number in blocks.items() if number > most}


def test_few_requests_leave_next_to_nothing_behind() -> None:
    assert left(asked(), "due", rounds=4, most=MOST_IN_FEW) == {}


@pytest.mark.long
def test_many_requests_leave_nothing_behind() -> None:
    asking = asked()
    # Each record makes the next one's judgement longer, so there are fewer of them.
    assert left(asking, "upload", rounds=25, most=MOST_OF_AN_UPLOAD) == {}
    assert left(asking, "scan", "due", "board", "sweep", rounds=200, most=MOST) == {}
