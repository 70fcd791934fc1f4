"""The real web server in a process of its own that can be killed and started again."""

import os
import signal
import socket
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from urllib.request import urlopen

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 60.0  # seconds for a server to answer on a busy machine


@dataclass
class Live:
    """One service: its database, folder and address; started and killed as often as wanted."""

    folder: Path
    database: str
    port: int = 0
    more: dict[str, str] = field(default_factory=dict)
    door: str = "api.wsgi"
    process: "subprocess.Popen[bytes] | None" = None

    def __post_init__(self) -> None:
        if not self.port:
            with socket.socket() as probe:
                probe.bind(("127.0.0.1", 0))
                self.port = int(probe.getsockname()[1])

    @property
    def address(self) -> str:
        """Without a last stroke."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def env(self) -> dict[str, str]:
        """What every process of this service gets."""
        return {
            "PATH": os.environ["PATH"],
            "PYTHONPATH": str(ROOT),
            "DJANGO_SETTINGS_MODULE": "api.settings",
            "VAR_DIR": str(self.folder),
            "DATABASE_URL": self.database,
            "LOG_LEVEL": "WARNING",
            **self.more,
        }

    def run(self, module: str, *words: str) -> str:
        """Run a module in a process of its own; returns what it printed."""
        done = subprocess.run(
            [sys.executable, "-m", module, *words],
            cwd=ROOT,
            env=self.env,
            check=True,
            capture_output=True,
            text=True,
        )
        return done.stdout

    def start(self) -> None:
        """Serve, and wait until it answers."""
        words = ("--threads", "8", "--no-control-socket", "--bind", f"127.0.0.1:{self.port}")
        with (self.folder / "server.log").open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "gunicorn", self.door, *words],
                cwd=ROOT,
                env=self.env,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        self.wait()

    def wait(self) -> None:
        """Until it answers."""
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            try:
                with urlopen(f"{self.address}/livez", timeout=5):  # noqa: S310 - our own server
                    return
            except OSError:  # not there yet
                time.sleep(0.02)
        raise RuntimeError(f"no answer:\n{(self.folder / 'server.log').read_text()[-2_000:]}")

    def kill(self) -> None:
        """All its processes at once, as a power cut would."""
        if self.process and self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
