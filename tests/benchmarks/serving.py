"""The whole service as it is served: web processes, worker, Valkey; and people who use it.

One cast for every run: a member of staff with a session, a lab with a key, a world of cylinders.
"""

import contextlib
import datetime as dt
import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests import servers

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 120.0  # seconds to come up on a busy machine


@dataclass
class Cast:
    """Who asks: the headers of each, and the tags they ask for."""

    staff: Mapping[str, str]
    lab: Mapping[str, str]
    codes: list[str]
    pages: list[str] = field(default_factory=list)


def cast(codes: list[str]) -> Cast:
    """Give the world a technician who is signed in, and a lab that holds everything, with a key."""
    from django.contrib.auth.models import User  # noqa: PLC0415 - after ground.settle()
    from django.test import Client  # noqa: PLC0415 - the same

    from api import keys  # noqa: PLC0415 - the same
    from cylinders.models import (  # noqa: PLC0415 - the same
        ConsignmentLine,
        Lab,
        WorkOrder,
    )
    from tests import makers  # noqa: PLC0415 - the same

    user, _ = User.objects.get_or_create(username="tessa", defaults={"is_staff": True})
    client = Client()
    client.force_login(user)
    cookies = "; ".join(f"{name}={morsel.value}" for name, morsel in client.cookies.items())
    lab = Lab.objects.create(
        name="Lab Z999", rin="Z999", rin_valid_until=dt.date(2031, 1, 1), email="z@example.org"
    )
    sent = lab.consignments.create(opened_at=makers.NOON, sent_at=makers.NOON)
    ConsignmentLine.objects.bulk_create(
        ConsignmentLine(consignment=sent, work_order=order, packed_at=makers.NOON)
        for order in WorkOrder.objects.order_by("pk")
    )
    key = keys.issue(lab_id=lab.pk, at=dt.datetime.now(dt.UTC))
    pages = ["/bench/", "/bench/find/?q=KX0000", "/bench/cylinders/{cylinder}/", "/bench/due/"]
    return Cast({"Cookie": cookies}, {"Authorization": f"Bearer {key.text}"}, codes, pages)


@dataclass
class Served:
    """One ``serve``: where it listens, and its processes."""

    port: int
    process: "subprocess.Popen[bytes]"

    def pids(self) -> list[int]:
        """Every process of it: the one that watches, web, worker."""
        parents = {}
        for folder in Path("/proc").glob("[0-9]*"):
            with contextlib.suppress(OSError):
                words = (folder / "stat").read_text().rpartition(") ")[2].split()
                parents[int(folder.name)] = int(words[1])
        family = {self.process.pid}
        while more := {pid for pid, parent in parents.items() if parent in family} - family:
            family |= more
        return sorted(family)

    def memory(self) -> dict[int, float]:
        """Megabytes that each of them has written and shares with nobody, by number.

        Pages of files and of what processes share come and go with what else runs on the machine.
        """
        held = {}
        for pid in self.pids():
            with contextlib.suppress(OSError, IndexError):
                text = Path(f"/proc/{pid}/smaps_rollup").read_text()
                held[pid] = int(text.split("Private_Dirty:")[1].split()[0]) / 1024
        return held

    def stop(self) -> None:
        """Ask it to end, as Ctrl-C does."""
        self.process.send_signal(signal.SIGINT)
        try:
            self.process.wait(30)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


@contextmanager
def served(*, database: str, redis: str, log: Path, folder: Path | None = None) -> Iterator[Served]:
    """``manage.py serve`` on a free port, on the database and the Valkey that are given.

    It shares the folder of this process, and the key in it, or has one of its own.
    """
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    known = {"PATH": os.environ["PATH"], "VAR_DIR": os.environ["VAR_DIR"], "LOG_LEVEL": "WARNING"}
    known |= {"DATABASE_URL": database, "REDIS_URL": redis, "CYLINDERS_NO_BOOTSTRAP": "1"}
    if folder is not None:
        known |= {"VAR_DIR": str(folder), "SECRET_KEY": os.environ["SECRET_KEY"]}
    known |= {"LAB_REQUESTS_PER_MINUTE": "100000"}
    with log.open("ab") as out:
        process = subprocess.Popen(
            [sys.executable, "manage.py", "serve", "--port", str(port)],
            cwd=ROOT,
            env=known,
            stdout=out,
            stderr=out,
        )
    one = Served(port, process)
    try:
        _answering(one, log)
        yield one
    finally:
        one.stop()


def _answering(one: Served, log: Path) -> None:
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until and one.process.poll() is None:
        with contextlib.suppress(OSError, http.client.HTTPException):
            if ask(one.port, "GET", "/livez")[0] == 200:
                return
        time.sleep(0.1)
    raise RuntimeError(f"the service did not answer; it said: {log.read_text()[-2_000:]}")


def ask(
    port: int,
    method: str,
    path: str,
    *,
    headers: Mapping[str, str] | None = None,
    body: bytes | None = None,
    patience: float = 30.0,
) -> tuple[int, bytes]:
    """One request on a connection of its own; raises ``OSError`` where nobody answers."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=patience)
    try:
        line.request(method, path, body=body, headers=dict(headers or {}))
        answer = line.getresponse()
        return answer.status, answer.read()
    finally:
        line.close()


def record(number: int, *, serial: str, code: str) -> tuple[bytes, dict[str, str]]:
    """A new record of a lab for one cylinder of the world, and the headers of its post."""
    from tests import makers  # noqa: PLC0415 - after ground.settle()

    body: dict[str, Any] = makers.record_body(lab_reference=f"LOAD-{number}-{uuid.uuid4().hex[:8]}")
    body["cylinder"] |= {"serial": serial, "tag": code}
    headers = {"Content-Type": "application/json", "Idempotency-Key": str(uuid.uuid4())}
    return json.dumps(body).encode(), headers


def valkey() -> servers.Server:
    """A Valkey of its own."""
    return servers.valkey()
