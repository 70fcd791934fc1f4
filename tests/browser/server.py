"""The real server in a process of its own, on the database that a test fills."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.request import urlopen

from django.conf import settings

#: A name that leads to this machine but is no `localhost`: what a phone on a shop's network sees.
PLAIN_HOST = "bench.test"
PATIENCE = 30.0  # seconds for the server to answer on a busy machine


def run(database: str) -> Iterator[str]:
    """Serve ``database``, a file of SQLite; yields the address without a last stroke."""
    port = _free_port()
    address = f"http://127.0.0.1:{port}"
    log = Path(settings.VAR_DIR) / "browser-server.log"
    env = os.environ | {
        "DJANGO_SETTINGS_MODULE": "api.settings",
        "DATABASE_URL": f"sqlite:///{database}",
        "VAR_DIR": str(settings.VAR_DIR),
        "ALLOWED_HOSTS": PLAIN_HOST,
    }
    command = [sys.executable, "-m", "gunicorn", "api.wsgi", "--bind", f"127.0.0.1:{port}"]
    with log.open("wb") as out:
        server = subprocess.Popen(
            [*command, "--threads", "8", "--no-control-socket"],
            cwd=settings.BASE_DIR,
            env=env,
            stdout=out,
            stderr=out,
        )
        try:
            _wait(f"{address}/livez", server, log)
            yield address
        finally:
            server.terminate()
            server.wait(PATIENCE)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _wait(url: str, server: "subprocess.Popen[bytes]", log: Path) -> None:
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end and server.poll() is None:
        try:
            with urlopen(url, timeout=5):  # noqa: S310 - our own address of this machine
                return
        except OSError:  # not there yet, or too busy to answer
            time.sleep(0.05)
    raise RuntimeError(f"the server did not answer:\n{log.read_text()[-2_000:]}")
