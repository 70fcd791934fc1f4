"""One page looked over: barriers by axe-core, width, targets, what it leads to, what it weighs."""

import gzip
from collections.abc import Sequence
from typing import Any, Literal, TypeAlias
from urllib.parse import urlsplit

import pytest
from django.urls import resolve
from playwright.sync_api import Response, ViewportSize

from tests.browser import axe
from tests.browser.phone import DESK, PHONE, Phone

#: bytes as they travel, compressed: the page and its style; and with its script and pictures
FIRST_PAINT, WHOLE = 14_000, 20_000
#: the reader of codes comes where there is a camera alone, and is then kept; a printed sheet is
#: what a page of sheets is asked for, and a photo what a page of photos is
NOT_WEIGHED = ("/static/vendor/", "/print.", "/label.", "/tag.", "/bench/files/", ".jpg")
#: what is pressed and is lower than a wet glove needs
SMALL = """() => [...document.querySelectorAll(
  "button, input:not([type=hidden], [type=checkbox], [type=radio]), select, textarea, " +
  ".act, .quiet, .tick, .choices label, summary, nav a"
)].filter((one) => one.checkVisibility() && one.getBoundingClientRect().height < 48)
  .map((one) => `${one.getBoundingClientRect().height} px high: ${one.outerHTML.slice(0, 120)}`)
"""
Looks: TypeAlias = Sequence[tuple[ViewportSize, Literal["light", "dark"], dict[str, Any]]]
LOOKS: Looks = [
    (PHONE, "light", axe.ALL_RULES),
    (DESK, "dark", axe.LOOKS),
]
#: every day one page in three on a phone by light; in the long run all, on a desk in the dark too
DAILY = 3
BY_DAY_OR_ALL = [
    pytest.param(LOOKS[:1], id="phone"),
    pytest.param(LOOKS, id="phone and desk", marks=pytest.mark.long),
]


def look(mine: Phone, pages: dict[str, str], looks: Looks = LOOKS) -> list[str]:
    """Each thing at fault on each of ``pages``, with the page's name."""
    found = []
    sizes: dict[str, int] = {}
    mine.page.add_init_script(axe.AXE)
    daily = len(looks) < len(LOOKS)
    for name, path in list(pages.items())[:: DAILY if daily else 1]:
        answers: list[Response] = []
        note = _noting(answers)
        mine.page.on("response", note)
        mine.open(path)
        mine.page.remove_listener("response", note)
        found += [f"{name}: {one}" for one in _barriers(mine, name, looks)]
        found += [f"{name}: {one}" for one in _heavy(mine, answers, sizes)]
    return found


def _barriers(mine: Phone, name: str, looks: Looks) -> list[str]:
    page, found = mine.page, []
    for size, scheme, rules in looks:
        page.set_viewport_size(size)
        page.emulate_media(color_scheme=scheme)
        found += [f"{scheme}: {one}" for one in axe.violations(page, rules)]
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        found += [f"{wide} px wider than {size['width']} px"] if wide > 0 else []
        mine.keep(f"{scheme} {name}")
    found += [f"only {small}" for small in page.evaluate(SMALL)]
    for lens in page.locator("a.lens").all():
        resolve(urlsplit(lens.get_attribute("href") or "").path)  # raises where no page is
    return found


def _noting(answers: list[Response]) -> Any:
    return lambda response: answers.append(response)  # noqa: PLW0108 - a bound built-in is refused


def _heavy(mine: Phone, answers: list[Response], sizes: dict[str, int]) -> list[str]:
    first = whole = 0
    for answer in answers:
        if answer.status >= 300 or any(part in answer.url for part in NOT_WEIGHED):
            continue
        if answer.url not in sizes:
            sizes[answer.url] = len(gzip.compress(mine.context.request.get(answer.url).body()))
        whole += sizes[answer.url]
        if answer.request.resource_type in ("document", "stylesheet"):
            first += sizes[answer.url]
    too_much = first > FIRST_PAINT or whole > WHOLE
    return [f"{first} bytes before the first paint, {whole} in all"] if too_much else []
