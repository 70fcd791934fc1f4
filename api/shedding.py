"""No more at once than the machine can carry: the others hear at once that they should come again.

A server that takes in everything answers nobody: each request waits behind all before it until its
sender has given up, and the work is done for no one. Here so many work, a few more wait for a
moment, and whoever comes beyond that is told 503 with ``Retry-After`` in less than a millisecond;
so answers stay quick, and seconds after the rush nothing of it is left.
"""

import json
import threading
from collections.abc import Callable, Iterable
from typing import Any, TypeAlias

Environ: TypeAlias = dict[str, Any]
Start: TypeAlias = Callable[..., Any]
App: TypeAlias = Callable[[Environ, Start], Iterable[bytes]]

#: whoever watches the service must hear that it is alive also while it is busy
ALWAYS = frozenset({"/livez", "/readyz"})
PATIENCE = 1.0  # seconds that a request waits for its turn
COME_AGAIN = "2"  # seconds
_STATUS = "503 Service Unavailable"
_BUSY = "Very busy just now. Nothing was done or lost: try again in a few seconds."


class Shedding:
    """A WSGI application that lets ``at_once`` requests into another, and ``waiting`` wait."""

    def __init__(self, app: App, *, at_once: int, waiting: int, patience: float = PATIENCE) -> None:
        self.app = app
        self.patience = patience
        self._door = threading.Semaphore(at_once)
        self._queue = threading.Semaphore(waiting)

    def __call__(self, environ: Environ, start: Start) -> Iterable[bytes]:
        """Answer, or say that there is no room."""
        if environ.get("PATH_INFO") in ALWAYS:
            return self.app(environ, start)
        if not self._enter():
            return _come_again(environ, start)
        try:
            return self.app(environ, start)
        finally:
            self._door.release()

    def _enter(self) -> bool:
        """Whether there was room, now or within the patience of the few that may wait for it."""
        if self._door.acquire(blocking=False):
            return True
        if not self._queue.acquire(blocking=False):
            return False
        try:
            return self._door.acquire(timeout=self.patience)
        finally:
            self._queue.release()


def _come_again(environ: Environ, start: Start) -> Iterable[bytes]:
    kind, body = "text/plain; charset=utf-8", f"{_BUSY}\n"
    if str(environ.get("PATH_INFO", "")).startswith("/api/"):
        kind = "application/problem+json"
        problem = {"type": "about:blank", "title": "Busy", "status": 503, "detail": _BUSY}
        body = json.dumps(problem)
    sent = body.encode()
    headers = [
        ("Content-Type", kind),
        ("Content-Length", str(len(sent))),
        ("Retry-After", COME_AGAIN),
        ("Cache-Control", "private, no-store"),
    ]
    start(_STATUS, headers)
    return [sent]
