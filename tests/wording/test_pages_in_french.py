"""Every page and message in French: no sentence of the catalogue is left in English."""

import re
from html.parser import HTMLParser
from pathlib import Path
from string import Formatter

import pytest
from django.conf import settings
from django.test import Client

from tests.browser.everything import Shop
from tests.wording import catalogue

pytestmark = pytest.mark.django_db

SHORTEST = 12  # letters of a piece that shows in which language a page speaks
#: what the invented shop's people typed themselves, which nobody translates
TYPED = ("valve open, no hiss",)
UNREAD = frozenset({"script", "style", "pre", "svg"})


class Seen(HTMLParser):
    """Collects what a person reads or hears of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.text: list[str] = []
        self.unread = 0
        self.language = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "html":
            self.language = given.get("lang") or ""
        self.unread += tag in UNREAD
        self.text += [given[name] or "" for name in ("aria-label", "alt", "title") if name in given]

    def handle_endtag(self, tag: str) -> None:
        self.unread -= tag in UNREAD

    def handle_data(self, data: str) -> None:
        if not self.unread:
            self.text.append(data)


def pieces() -> dict[str, str]:
    """The fixed words of each English sentence, as long as they are not the same in French."""
    found: dict[str, str] = {}
    for message in catalogue.stored("fr"):
        english = message.id if isinstance(message.id, str) else message.id[0]
        french = " ".join(message.string) if not isinstance(message.string, str) else message.string
        for piece in fixed(english):
            if piece.casefold() not in french.casefold():
                found[piece] = english
    return found


def fixed(sentence: str) -> list[str]:
    if "%(" in sentence:
        parts = re.split(r"%\([a-z_0-9]+\)s", sentence)
    elif "{" in sentence:
        parts = [literal for literal, _, _, _ in Formatter().parse(sentence)]
    else:
        parts = [sentence]
    return [part.strip(" .:;,()") for part in parts if sum(map(str.isalpha, part)) >= SHORTEST]


def english_in(text: str, known: dict[str, str]) -> list[str]:
    return [piece for piece in known if piece in text and piece not in TYPED]


def read(html: str) -> Seen:
    seen = Seen()
    seen.feed(html)
    return seen


def test_every_page_speaks_french(client: Client, tmp_path: Path) -> None:
    shop = Shop.build(str(tmp_path))
    known = pieces()
    assert len(known) > 1_000
    french = {"HTTP_ACCEPT_LANGUAGE": "fr-CA,fr;q=0.9"}
    wrong: dict[str, list[str]] = {}
    for name, address in shop.strangers().items():
        page = read(Client().get(address, **french).content.decode())
        wrong[name] = english_in(" ".join(page.text), known)
        assert page.language == "fr", name
    client.force_login(shop.user)
    for name, address in shop.bench().items():
        page = read(client.get(address, **french).content.decode())
        wrong[name] = english_in(" ".join(page.text), known)
        assert page.language == "fr", name
    assert settings.LANGUAGE_CODE == "en"
    left = [f"{name}: {piece}" for name, found in wrong.items() for piece in found]
    assert not left, "\n".join(left)
