"""Ask every address as every role, and keep what came: status, headers, cookies, content."""

import fcntl
import pickle
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache as remembered
from pathlib import Path
from typing import Any

import time_machine
from django.core.cache import cache
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from tests import makers
from tests.rights import table, world
from tests.rights.world import Role

METHODS = ("GET", "POST")
#: where somebody is sent who may not see a page, as the table calls it
DOORS = {
    "/bench/login/": "login",
    "/lab/sign-in/": "lab-door",
    "/admin/login/": "admin-door",
}


#: where the processes of a run keep what one of them was answered
_SHARED: Path | None = None


def share(place: Path) -> None:
    """Keep the answers there for the other processes of this run, and take theirs."""
    global _SHARED  # noqa: PLW0603 - set once, before the first test of a process
    _SHARED = place


@dataclass(frozen=True)
class Answer:
    """What one role got at one address with one method."""

    row: table.Row
    role: Role
    method: str
    path: str
    status: int
    headers: Mapping[str, str]
    cookies: Mapping[str, Mapping[str, object]]
    body: bytes

    @property
    def got(self) -> str:
        """A status, or the name of the door that the answer leads to."""
        to = self.headers.get("Location", "").partition("?")[0]
        return DOORS.get(to, str(self.status)) if self.status == 302 else str(self.status)


def routes() -> list[str]:
    """Every pattern of the URL map, as the map spells it."""
    return list(_routes(get_resolver()))


def _routes(resolver: URLResolver, before: str = "") -> Iterator[str]:
    for one in resolver.url_patterns:
        if isinstance(one, URLPattern):
            yield before + str(one.pattern).removeprefix("^")  # as a match names its route
        else:
            yield from _routes(one, before + str(one.pattern))


@remembered
def answers() -> tuple[Answer, ...]:
    """Every row as every role, by GET and POST; one process of a run asks for all of them."""
    if _SHARED is None:
        return _asked()
    with _SHARED.open("a+b") as kept:
        fcntl.flock(kept, fcntl.LOCK_EX)
        kept.seek(0)
        if stored := kept.read():
            found: tuple[Answer, ...] = pickle.loads(stored)  # noqa: S301 - this run wrote it
            return found
        made = _asked()
        kept.write(pickle.dumps(made))
        return made


def _asked() -> tuple[Answer, ...]:
    """Ask; what a request changed is undone after it."""
    with time_machine.travel(makers.NOON, tick=False):
        house = world.build()
        return tuple(
            _ask(row, role, method, house)
            for row in table.ROWS
            for role in Role
            for method in METHODS
        )


def _ask(row: table.Row, role: Role, method: str, house: world.World) -> Answer:
    client = house.clients[role]
    kept = client.cookies.output(header="", sep=";")
    path = house.address(row.path, role)
    cache.clear()
    with transaction.atomic():
        response = _send(client, method, path)
        body = b"".join(response.streaming_content) if response.streaming else response.content
        transaction.set_rollback(True)
    cookies = {name: dict(morsel) for name, morsel in response.cookies.items()}
    client.cookies.clear()
    client.cookies.load(kept)
    return Answer(
        row, role, method, path, response.status_code, dict(response.headers), cookies, body
    )


def _send(client: Client, method: str, path: str) -> Any:
    return client.get(path) if method == "GET" else client.post(path, {"do": "nothing"})
