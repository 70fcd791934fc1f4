"""`serve` as a newcomer meets it: real processes, a real port, a real queue."""

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.conf import LazySettings
from django.core.management import CommandError, call_command

from api.management.commands import serve

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 40.0  # seconds for two Python programs to start on a busy machine


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Service:
    """One run of `serve` on a port of its own, with its files in a folder of its own."""

    def __init__(self, folder: Path, **env: str) -> None:
        self.port = free_port()
        self.log = folder / "log"
        known = {"PATH": os.defpath, "VAR_DIR": str(folder / "var"), "LOG_LEVEL": "WARNING"}
        with self.log.open("wb") as log:
            self.process = subprocess.Popen(
                [sys.executable, "manage.py", "serve", "--port", str(self.port)],
                cwd=ROOT,
                env={**known, "CYLINDERS_NO_BOOTSTRAP": "1", **env},
                stdout=log,
                stderr=log,
            )

    def said(self) -> str:
        return self.log.read_text(encoding="utf-8")

    def wait_for(self, holds: Callable[[], bool]) -> None:
        until = time.monotonic() + PATIENCE
        while not holds():
            assert time.monotonic() < until, self.said()
            time.sleep(0.1)

    def get(self, path: str) -> tuple[int, bytes]:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        try:
            line.request("GET", path)
            answer = line.getresponse()
            return answer.status, answer.read()
        finally:
            line.close()

    def child(self, name: str) -> int:
        """Return the process id of the child whose command line has this word."""
        own = Path(f"/proc/{self.process.pid}")
        children = (own / "task" / own.name / "children").read_text(encoding="ascii").split()
        (found,) = [pid for pid in children if name in Path(f"/proc/{pid}/cmdline").read_text()]
        return int(found)

    def end(self, number: int) -> float:
        """Send a signal and return how long the end took, in seconds."""
        began = time.monotonic()
        self.process.send_signal(number)
        self.process.wait(PATIENCE)
        return time.monotonic() - began


@pytest.fixture(params=["files", pytest.param("valkey", marks=pytest.mark.long)])
def service(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Service]:
    """`serve` with each kind of queue."""
    env = {}
    if request.param == "valkey":
        env = {"REDIS_URL": request.getfixturevalue("valkey").url}
    running = Service(tmp_path, **env)
    yield running
    if running.process.poll() is None:
        running.end(signal.SIGTERM)


def test_serve_answers_works_and_stops(service: Service) -> None:
    service.wait_for(lambda: "Ctrl-C stops it." in service.said())
    assert f"http://127.0.0.1:{service.port}/bench/" in service.said()
    assert "█" in service.said()
    assert service.get("/livez") == (200, b"alive\n")

    service.wait_for(lambda: service.get("/readyz")[0] == 200)  # a tick went through the queue
    assert json.loads(service.get("/readyz")[1])["problems"] == {}

    took = service.end(signal.SIGTERM)
    assert service.process.returncode == 0
    assert took < 8, f"stopping took {took:.1f} s"
    with pytest.raises(OSError, match="refused"):
        service.get("/livez")


@pytest.mark.parametrize(("name", "word"), [("worker", "--pool"), ("clock", "beat")])
@pytest.mark.long
def test_a_worker_or_clock_that_dies_stops_the_web_server_too(
    tmp_path: Path, name: str, word: str
) -> None:
    service = Service(tmp_path)
    service.wait_for(lambda: "Ctrl-C stops it." in service.said())
    os.kill(service.child(word), signal.SIGKILL)
    assert service.process.wait(PATIENCE) == 1
    assert f"The {name} ended by itself (status -9); stopping." in service.said()
    with pytest.raises(OSError, match="refused"):
        service.get("/livez")


def test_a_taken_port_is_said_before_anything_starts() -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(CommandError, match="Choose another with --port"):
            call_command("serve", port=other.getsockname()[1])


@pytest.mark.parametrize("port", [-1, 70000])
def test_a_port_that_cannot_be_is_refused(port: int) -> None:
    with pytest.raises(CommandError, match="Choose another with --port"):
        call_command("serve", port=port)


@pytest.mark.parametrize("bind", ["localhost", "127.0.0", ""])
def test_an_address_that_is_none_is_refused(bind: str) -> None:
    with pytest.raises(CommandError, match="is not an IP address"):
        call_command("serve", bind=bind)


@pytest.mark.parametrize("name", ["DEBUG", "DEMO"])
@pytest.mark.parametrize("bind", ["0.0.0.0", "::", "192.0.2.7"])  # noqa: S104 - refused here
def test_strangers_are_kept_out_of_debug_and_demonstration(
    name: str, bind: str, settings: LazySettings
) -> None:
    setattr(settings, name, True)
    with pytest.raises(CommandError, match=f"{name} is on, so only this machine"):
        serve.check_bind(bind)
    serve.check_bind("127.0.0.1")
    serve.check_bind("::1")
