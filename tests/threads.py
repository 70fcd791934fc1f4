"""Work on a connection of its own, beside the test."""

import threading
from collections.abc import Callable

from django.db import connections


def in_a_thread(work: Callable[[], object]) -> threading.Thread:
    """Begin ``work`` in a thread, which closes its connections when it ends."""

    def run() -> None:
        try:
            work()
        finally:
            connections.close_all()

    thread = threading.Thread(target=run)
    thread.start()
    return thread
