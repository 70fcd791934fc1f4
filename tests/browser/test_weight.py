"""What a page weighs on a slow line: bytes counted as they would travel, compressed."""

import gzip
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Response

from tests.browser.everything import Shop
from tests.browser.phone import Phone, phone

pytestmark = pytest.mark.django_db(transaction=True)

FIRST_PAINT, WHOLE = 14_000, 20_000  # bytes: the page and its style; and with script and pictures
READER = "/static/vendor/"  # the reader of codes: where there is a camera alone, and then kept


def weigh(mine: Phone, path: str) -> tuple[int, int]:
    """The compressed bytes before the first paint, and of everything but the reader of codes."""
    answers: list[Response] = []

    def note(response: Response) -> None:
        answers.append(response)

    mine.page.on("response", note)
    mine.open(path)
    first = whole = 0
    for answer in answers:
        kind = answer.request.resource_type
        if READER in answer.url or answer.status >= 300:
            continue
        if "/print." in answer.url or "/label." in answer.url:
            continue  # the picture of a tag as it prints is what such a page is asked for
        size = len(gzip.compress(mine.context.request.get(answer.url).body()))
        whole += size
        first += size if kind in ("document", "stylesheet") else 0
    mine.page.remove_listener("response", note)
    return first, whole


def test_pages_are_light(
    transactional_db: None, browser: Browser, base: str, tmp_path: Path
) -> None:
    shop = Shop.build(str(tmp_path))
    heavy = []
    with phone(browser, base, shop.user) as staff, phone(browser, base, None) as stranger:
        for mine, pages in ((staff, shop.bench()), (stranger, shop.strangers())):
            for name, path in pages.items():
                first, whole = weigh(mine, path)
                if first > FIRST_PAINT or whole > WHOLE:
                    heavy.append(f"{name}: {first} bytes before the first paint, {whole} in all")
    assert heavy == []
