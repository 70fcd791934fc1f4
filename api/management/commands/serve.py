"""``serve``: web server, background worker and clock, processes that live and die together."""

import contextlib
import http.client
import os
import socket
import sys
from argparse import ArgumentParser
from ipaddress import ip_address
from typing import Any

from django.conf import settings
from django.core.management import CommandError, call_command
from django.core.management.base import BaseCommand
from kombu.exceptions import OperationalError

from api.celery import tick
from api.processes import run_together
from labels.qr import terminal_art

PLACES = (("Bench", "/bench/"), ("Interface for labs", "/api/v1/"), ("Is it well?", "/readyz"))
BY_FILES = (
    "Queue: files in {folder}. If the machine stops hard, messages under way are lost, the work "
    "is not: it stands in the database, and the next sweep (within a minute) finds it."
)
BY_REDIS = (
    "Queue: the server at REDIS_URL. If it or the worker stops hard, messages come back after two "
    "minutes or the next sweep finds the work in the database, whichever is first."
)
BIND_HELP = "IP address; default 127.0.0.1, this machine only; all of its networks: 0.0.0.0"
AS_ROOT = "Running as root: good enough for a look. For a shop, give the service its own user."
TO_SHED = 4  # threads of each process that neither work nor wait: they say that there is no room
HERE_ONLY = "This address answers on this machine only; for a phone, see --bind."


class Command(BaseCommand):
    help = "Start the web server, the background worker and its clock; Ctrl-C stops all."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="default 8000")
        parser.add_argument("--bind", default="127.0.0.1", help=BIND_HELP)

    def handle(self, *_: Any, **options: Any) -> None:
        bind, port = options["bind"], options["port"]
        check_bind(bind)
        check_free(bind, port)
        call_command("migrate", verbosity=0, interactive=False, skip_checks=False)
        if settings.PRODUCTION:
            call_command("collectstatic", verbosity=0, interactive=False)
        root = os.environ.get("PUBLIC_URL") or f"http://{in_url(reachable(bind))}:{port}"
        status = run_together(
            {"web server": web(bind, port), "worker": worker(), "clock": clock()},
            env=environment(bind, root),
            is_up=lambda: answers(bind, port),
            on_up=lambda: self.show(root),
            on_stop=wake_worker,
            say=self.say,
        )
        if status:
            sys.exit(status)

    def show(self, root: str) -> None:
        """Print where it is, how a phone gets there, and what the queue can lose."""
        self.say("")
        for name, path in PLACES:
            self.say(f"{name + ':':20}{root}{path}")
        self.say(terminal_art(root + "/bench/"))
        if "//127.0.0.1" in root:
            self.say(HERE_ONLY)
        if settings.REDIS_URL:
            self.say(BY_REDIS)
        else:
            self.say(BY_FILES.format(folder=settings.QUEUE_DIR))
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            self.say(AS_ROOT)
        self.say("Ctrl-C stops it.")

    def say(self, sentence: str) -> None:
        """Print at once: whoever waits for the address may be a program."""
        self.stdout.write(sentence)
        self.stdout.flush()


def check_bind(bind: str) -> None:
    """Refuse an address that is none, and a public one while strangers must be kept out."""
    try:
        here_only = ip_address(bind).is_loopback
    except ValueError as problem:
        raise CommandError(f"--bind {bind} is not an IP address, such as 127.0.0.1.") from problem
    if here_only:
        return
    for name in ("DEBUG", "DEMO"):
        if getattr(settings, name):
            raise CommandError(
                f"{name} is on, so only this machine may reach the service: leave out --bind, or "
                f"turn {name} off."
            )


def check_free(bind: str, port: int) -> None:
    """Refuse a port that something else listens on, before anything is started."""
    family = socket.AF_INET6 if ":" in bind else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((bind, port))
        except (OSError, OverflowError) as problem:
            raise CommandError(
                f"Cannot listen on {bind} port {port}: {problem}. Choose another with --port."
            ) from problem


def reachable(bind: str) -> str:
    """Return the address under which others reach `bind`; a wildcard becomes this machine's own."""
    if not ip_address(bind).is_unspecified:
        return bind
    family = socket.AF_INET6 if ":" in bind else socket.AF_INET
    beyond = "2001:db8::1" if family == socket.AF_INET6 else "192.0.2.1"  # documentation addresses
    with socket.socket(family, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((beyond, 9))  # a datagram socket: picks the way out, sends nothing
        except OSError:
            return "::1" if family == socket.AF_INET6 else "127.0.0.1"
        return str(probe.getsockname()[0])


def in_url(address: str) -> str:
    """Return an IP address as it stands in a URL."""
    return f"[{address}]" if ":" in address else address


def environment(bind: str, root: str) -> dict[str, str]:
    """Return what the processes need to know beyond this one's environment."""
    known = dict(os.environ, DJANGO_SETTINGS_MODULE="api.settings", PUBLIC_URL=root)
    # Each thread would keep a heap of its own, with the largest page that it ever made in it.
    known.setdefault("MALLOC_ARENA_MAX", "1")
    if not settings.PRODUCTION:
        own = in_url(reachable(bind))
        known["ALLOWED_HOSTS"] = ",".join([*filter(None, [known.get("ALLOWED_HOSTS")]), own])
    return known


def web(bind: str, port: int) -> list[str]:
    """Return the web server's command line."""
    return [
        *(sys.executable, "-m", "gunicorn", "api.wsgi", f"--bind={in_url(bind)}:{port}"),
        *("--worker-class=gthread", f"--workers={settings.WEB_PROCESSES}"),
        *(f"--threads={settings.WEB_THREADS + settings.WEB_WAITING + TO_SHED}",),
        *("--graceful-timeout=2", "--log-level=warning"),
        *("--no-control-socket", f"--chdir={settings.BASE_DIR}"),
        "--config=python:api.web_server",
    ]


def worker() -> list[str]:
    """Return the worker's command line."""
    return [
        *_celery(),
        *("worker", "--pool=threads", f"--concurrency={settings.WORKER_THREADS}"),
        *("--without-gossip", "--without-mingle"),
    ]


def clock() -> list[str]:
    """Return the command line of what wakes the worker each minute.

    Not the worker's own child: nobody would see that one die, and no reminder would go any more.
    """
    return [*_celery(), "beat", "--pidfile="]


def _celery() -> list[str]:
    where = f"--workdir={settings.BASE_DIR}"
    return [sys.executable, "-m", "celery", "--quiet", where, "-A", "api"]


def wake_worker() -> None:
    """Send two ticks: a worker that was asked to stop finishes two waits of 2 s for messages first.

    A broker that is not there is no matter at this point: the worker then just takes longer.
    """
    with contextlib.suppress(OperationalError, OSError):
        for _ in range(2):
            tick.apply_async(retry=False)


def answers(bind: str, port: int) -> bool:
    """Say whether the web server answers anything at all."""
    here = "127.0.0.1" if bind == "0.0.0.0" else "::1" if bind == "::" else bind  # noqa: S104 - compared, not bound
    name = settings.ALLOWED_HOSTS[0].removeprefix(".")  # production answers to its own name only
    asked = http.client.HTTPConnection(here, port, timeout=1)
    try:
        asked.request("GET", "/livez", headers={"Host": name})
        asked.getresponse()
    except (OSError, http.client.HTTPException):
        return False
    finally:
        asked.close()
    return True
