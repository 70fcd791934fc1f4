"""The page behind a tag on PostgreSQL: against a plain program, and against what one writes first.

The floor is a WSGI function without a framework that asks the three questions which the page
follows from (tag with cylinder, shop, the owner's figures) over a connection that stays open, in
statements that the driver prepares, and puts the code into a ready page. The usual choice is the
service's own former page: model objects and a template, behind the same middleware. Every case
walks over the same tags. "first look" is a page that was not made before since the last event.
"""

import io
import itertools
import sys
from collections.abc import Callable, Iterator
from html import escape
from typing import Any

import psycopg
from django.core.cache import caches
from django.core.wsgi import get_wsgi_application
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.test import override_settings
from django.urls import path
from django.utils import timezone

from api import urls as site
from api.pages.bench.resolve import our_hosts
from api.pages.status.public import _CLEAN, _GAS
from cylinders.models import OwnerRow, Shop
from cylinders.queries.for_stranger import for_stranger
from cylinders.queries.shop_day import shop_day, zone_of
from labels import glance
from labels.codes import show
from labels.scanning import Named, identify
from tests.benchmarks import ground, world
from tests.benchmarks.runner import COMMITS, Case, Result, Target, race

CYLINDERS, EVENTS, WALKED = 10_000, 20, 60
FLOOR = "a plain WSGI function with the same three questions in prepared statements"
USUAL = "model objects and a template, same middleware"


def usual(request: HttpRequest, code: str) -> HttpResponse:
    """The page as it was first written: identify, ask each model, render."""
    named = identify(code, hosts=our_hosts(request))
    if not isinstance(named, Named) or named.cylinder is None:
        raise LookupError(code)
    on = shop_day(timezone.now(), zone=zone_of(Shop.objects.first())).on
    told = for_stranger(named.cylinder, on=on)
    tone = "ok" if told.verdict.allowed else "fail"
    context = {
        "code": show(named.tag.code),
        "plain": named.tag.code,
        "told": told,
        "tone": tone,
        "word": {"ok": "IN DATE", "fail": "DO NOT FILL"}[tone],
        "gas": _GAS[told.gas],
        "clean": _CLEAN[told.oxygen_clean],
        "on": on,
        "shop": Shop.objects.first(),
    }
    return render(request, "status/public.html", context)


urlpatterns = [path("usual/<str:code>", usual), *site.urlpatterns]


class Plain:
    """The floor: no framework, three statements, one ready page."""

    def __init__(self, page: str, code: str) -> None:
        options = connection.get_connection_params()
        self.line = psycopg.connect(
            dbname=options["dbname"], user=options["user"], host=options["host"], autocommit=True
        )
        self.before, _, rest = page.partition(show(code))
        self.after = rest
        tag_and_cylinder = glance.statement().split(" LEFT JOIN cylinders_shop")[0]
        columns = tag_and_cylinder.split(", s.")[0]
        tables = tag_and_cylinder[tag_and_cylinder.index(" FROM labels_tag") :]
        self.first = f"{columns}{tables} WHERE t.code = %s"

    def __call__(self, environ: dict[str, Any], start: Callable[..., Any]) -> list[bytes]:
        """Answer like the service: the same facts asked for, as many bytes sent."""
        code = environ["PATH_INFO"].rpartition("/")[2]
        row = self.line.execute(self.first, [code]).fetchone()
        shop = self.line.execute("SELECT * FROM cylinders_shop ORDER BY id LIMIT 1").fetchone()
        self.line.execute(f"SELECT * FROM {_FIGURES} ORDER BY entered_at DESC").fetchall()  # noqa: S608 - our own table
        if row is None or shop is None:
            raise LookupError(code)
        body = f"{self.before}{escape(show(row[0]))}{self.after}".encode()
        start("200 OK", [("Content-Type", "text/html"), ("Content-Length", str(len(body)))])
        return [body]


_FIGURES = OwnerRow._meta.db_table


def asked(app: Callable[..., Any], address: str) -> bytes:
    """One request, without a socket; anything but a good answer ends the benchmark."""
    environ = {
        "REQUEST_METHOD": "GET",
        "PATH_INFO": address,
        "SERVER_NAME": "localhost",
        "SERVER_PORT": "80",
        "SERVER_PROTOCOL": "HTTP/1.1",
        "HTTP_HOST": "localhost",
        "HTTP_ACCEPT_LANGUAGE": "en",
        "REMOTE_ADDR": "127.0.0.1",
        "wsgi.url_scheme": "http",
        "wsgi.input": io.BytesIO(),
        "wsgi.errors": sys.stderr,
    }
    said: list[str] = []
    answer = app(environ, lambda status, _headers, _fault=None: said.append(status))
    body = b"".join(answer)
    if hasattr(answer, "close"):
        answer.close()
    if not said[0].startswith("200"):
        raise RuntimeError(f"{address}: {said[0]}")
    return body


def _walk(
    app: Callable[..., Any], prefix: str, codes: list[str], steps: int = 30
) -> Callable[[], object]:
    """Ask for the next so many tags, round and round."""
    turn = itertools.cycle(codes)
    return lambda: [asked(app, prefix + next(turn)) for _ in range(steps)]


def run(rounds: int | None = None) -> Iterator[Result]:
    """Both targets, and what a page costs that nobody has asked for before."""
    with ground.database(), override_settings(ROOT_URLCONF=__name__):
        codes = world.fill(world.live_once(events=EVENTS), CYLINDERS).codes[:WALKED]
        app = get_wsgi_application()
        plain = Plain(asked(app, f"/t/{codes[0]}").decode(), codes[0])
        every = _walk(app, "/t/", codes, len(codes))
        cases = {
            FLOOR: Case(_walk(plain, "/t/", codes)),
            "ours": Case(_walk(app, "/t/", codes), before=every),
            "first look": Case(_walk(app, "/t/", codes), before=caches["pages"].clear),
            USUAL: Case(_walk(app, "/usual/", codes)),
        }
        what = f"page behind a tag, {CYLINDERS} cylinders of {EVENTS} events"
        yield from race(
            cases,
            [
                Target("scan_page", "ours", FLOOR, 2.5, what),
                Target("scan_page_usual", "ours", USUAL, 0.4, f"{what}: time of one page"),
                Target("scan_page_first", "first look", USUAL, 0.6, f"{what}: first look"),
            ],
            rounds=rounds or COMMITS,
        )
        plain.line.close()
