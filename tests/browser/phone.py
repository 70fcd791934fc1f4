"""A browser at the bench: signed in, never outside this machine, at one of two sizes."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from django.contrib.auth.models import User
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Request, ViewportSize

from tests.browser.server import PLAIN_HOST

PICTURES = os.environ.get("BROWSER_PICTURES", "")
PHONE = ViewportSize(width=360, height=740)
DESK = ViewportSize(width=1280, height=800)
_OURS = {"127.0.0.1", PLAIN_HOST}
#: what the browser notes as errors: refused answers, which are part of the work, and a header that
#: means nothing over plain http
_NO_FAULTS = ("Failed to load resource", "The Cross-Origin-Opener-Policy header has been ignored")
_LOCAL = {"blob", "data", "about", "chrome-error"}

#: stands in for the parts of a phone that a test can neither hear nor feel
LISTEN = """
  window.heard = []; window.felt = [];
  navigator.vibrate = (pattern) => { window.felt.push(pattern); return true; };
  const start = OscillatorNode.prototype.start;
  OscillatorNode.prototype.start = function (...when) {
    window.heard.push([this.type, this.frequency.value]);
    return start.apply(this, when);
  };
"""


@dataclass
class Phone:
    """One signed-in browser; ``page`` is its only window."""

    base: str
    context: BrowserContext
    page: Page
    strayed: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def open(self, path: str) -> Page:
        """Go to a path of the service."""
        self.page.goto(self.base + path)
        return self.page

    @property
    def path(self) -> str:
        """Where the browser is, without the number of what was told."""
        return urlsplit(self.page.url).path

    @property
    def answer(self) -> Locator:
        """What the page tells, to be heard as well as seen."""
        return self.page.locator("[role=status]#told")

    def become(self, user: User) -> None:
        """Let somebody else sign in on this phone."""
        self.context.add_cookies([{"name": "session", "value": _session(user), "url": self.base}])

    def keep(self, name: str) -> None:
        """Keep a picture for people to look at, where BROWSER_PICTURES names a folder."""
        if PICTURES:
            size = self.page.viewport_size or PHONE
            folder = Path(PICTURES) / str(size["width"])
            folder.mkdir(parents=True, exist_ok=True)
            self.page.screenshot(path=folder / f"{name}.png", full_page=True)

    def keystrokes(self, text: str) -> None:
        """Type as a hand scanner does: into whatever has the focus, with Enter at the end."""
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")


@contextmanager
def phone(
    browser: Browser,
    base: str,
    user: User | None,
    *,
    size: ViewportSize = PHONE,
    **options: Any,
) -> Iterator[Phone]:
    """Open a browser for ``user``; fails at the end if it asked for anything outside, or broke."""
    context = browser.new_context(viewport=size, **options)
    context.set_default_timeout(10_000)
    if user:
        host = urlsplit(base).hostname or ""
        context.add_cookies(
            [{"name": "session", "value": _session(user), "domain": host, "path": "/"}]
        )
    mine = Phone(base, context, context.new_page())

    def watch(request: Request) -> None:
        where = urlsplit(request.url)
        if where.scheme not in _LOCAL and where.hostname not in _OURS:
            mine.strayed.append(request.url)

    context.on("request", watch)
    context.on("weberror", lambda error: mine.faults.append(str(error.error)))
    context.on("console", lambda message: _note(mine, message.type, message.text))
    try:
        yield mine
    finally:
        context.close()
    assert not mine.strayed, f"asked for something outside: {mine.strayed}"
    assert not mine.faults, f"the page's script or policy failed: {mine.faults}"


def _note(mine: Phone, kind: str, text: str) -> None:
    if kind == "error" and not text.startswith(_NO_FAULTS):
        mine.faults.append(text)


def _session(user: User) -> str:
    client = Client()
    client.force_login(user)
    return client.cookies["session"].value
