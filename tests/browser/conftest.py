"""A real Chromium before a real server. Without Chromium these tests are skipped, or fail in CI."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from playwright.sync_api import Browser, sync_playwright

from tests import makers, servers
from tests.browser import server
from tests.browser.film import frame
from tests.browser.phone import DESK, PHONE, Phone, phone
from tests.browser.server import PLAIN_HOST

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
MISSING = "There is no Chromium on this machine: install it to run the tests of the pages."
QUIET = [
    "--headless=new",
    "--no-sandbox",  # root may not use it, and only our own pages are opened
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    f"--host-resolver-rules=MAP {PLAIN_HOST} 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
    "--use-fake-device-for-media-stream",
    "--autoplay-policy=no-user-gesture-required",  # the answers' sounds, without a finger
]


@pytest.fixture(scope="session")
def chromium() -> str:
    """Where the browser is."""
    if CHROMIUM is None:
        if servers.required():
            pytest.fail(MISSING)
        pytest.skip(MISSING)
    return CHROMIUM


@pytest.fixture(scope="session")
def base(chromium: str, django_db_setup: None) -> Iterator[str]:
    """The address of the service, served by a process of its own from the database of the run."""
    yield from server.run(str(settings.DATABASES["default"]["NAME"]))


@pytest.fixture(scope="session")
def film() -> Path:
    """What the browser's camera sees: a test writes its frames here before it opens the camera."""
    return Path(settings.VAR_DIR) / "camera.mjpeg"


@pytest.fixture(scope="module")
def browser(chromium: str, film: Path) -> Iterator[Browser]:
    """A Chromium for the tests of one module."""
    # Playwright keeps an event loop in this thread, in which Django would refuse the database.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        flags = [*QUIET, f"--use-file-for-fake-video-capture={film}"]
        film.write_bytes(frame())
        launched = playwright.chromium.launch(executable_path=chromium, args=flags)
        yield launched
        launched.close()
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture
def tessa(transactional_db: None) -> User:
    """The technician whose browser it is."""
    return makers.make_technician()


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def both(
    request: pytest.FixtureRequest, browser: Browser, base: str, tessa: User
) -> Iterator[Phone]:
    """A signed-in browser, once at the size of a phone and once at that of a desk."""
    with phone(browser, base, tessa, size=request.param) as mine:
        yield mine


@pytest.fixture
def hand(browser: Browser, base: str, tessa: User) -> Iterator[Phone]:
    """A signed-in browser at the size of a phone."""
    with phone(browser, base, tessa) as mine:
        yield mine


@pytest.fixture
def seeing(browser: Browser, base: str, tessa: User) -> Iterator[Phone]:
    """A signed-in phone that allows its camera."""
    with phone(browser, base, tessa, permissions=["camera"]) as mine:
        yield mine
