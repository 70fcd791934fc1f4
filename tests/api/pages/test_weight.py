"""How much a phone has to fetch before it shows a page: bytes, never seconds of this machine.

The limit is the first flight of a connection, 10 segments of 1,460 bytes (RFC 6928, from memory),
for all that a page waits for. What a slow line makes of it is reckoned, not measured. Lines: slow
4G 150 ms and 1.6 Mbit/s (Lighthouse, docs/throttling.md); slow 3G 400 ms and 0.4 Mbit/s (from
memory).
"""

import gzip
import re
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client

from tests import makers
from tests.api.pages.status.cast import link_to, open_shop, put_together, tag_of

pytestmark = pytest.mark.django_db
FIRST_FLIGHT, ALL_TOLD = 10 * 1_460, 20_000
STATIC = Path(settings.BASE_DIR) / "api" / "pages" / "static"
SERVER = 0.05  # seconds to make an answer, taken high
#: round trip in seconds, bits a second, seconds within which the page has to stand
LINES = {"slow 4G": (0.15, 1.6e6, 1.0), "slow 3G": (0.4, 0.4e6, 2.5)}


def pages() -> dict[str, str]:
    """What strangers and owners open, as HTML."""
    open_shop()
    order = put_together()
    client = Client()
    paths = {
        "tag": f"/t/{tag_of(order).code}",
        "unknown": "/t/NOTACODE",
        "found": f"/found/{tag_of(order).code}",
        "owner": f"/s/{link_to(order).token}",
    }
    return {name: client.get(path).content.decode() for name, path in paths.items()}


def zipped(content: bytes) -> int:
    return len(gzip.compress(content, 6))


def sheets(html: str) -> list[bytes]:
    """The style sheets that it waits for."""
    names = re.findall(r'<link rel="stylesheet" href="/static/([^"]+)"', html)
    assert names
    return [(STATIC / name).read_bytes() for name in names]


def seconds(html: int, css: int, *, trip: float, bits: float) -> float:
    """Name, connection, TLS 1.3 and page take four trips; its sheets, side by side, one more."""
    return 5 * trip + 2 * SERVER + 8 * (html + css) / bits


def test_what_a_page_waits_for_fits_the_first_flight_and_a_slow_line() -> None:
    for name, html in pages().items():
        page, css = zipped(html.encode()), sum(zipped(sheet) for sheet in sheets(html))
        assert page + css <= FIRST_FLIGHT, (name, page, css)
        for line, (trip, bits, most) in LINES.items():
            took = seconds(page, css, trip=trip, bits=bits)
            assert took <= most, (name, line, took)


def test_everything_that_a_page_fetches_is_light_and_no_script_is_waited_for() -> None:
    for name, html in pages().items():
        names = set(re.findall(r'(?:href|src)="/static/([^"]+)"', html))
        fetched = sum(zipped((STATIC / one).read_bytes()) for one in names)
        assert zipped(html.encode()) + fetched <= ALL_TOLD, name
        waited_for = re.findall(
            r"<script(?![^>]*(?:defer|async|type=\"(?:module|application/json)))", html
        )
        assert not waited_for, name


def test_a_second_page_sends_the_sheets_no_more() -> None:
    makers.technician_one()
    for html in pages().values():
        assert "<style" not in html
