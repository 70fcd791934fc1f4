"""Whether something that a person reads in French still holds a sentence in English."""

import re
from functools import lru_cache
from html.parser import HTMLParser
from string import Formatter

from tests.wording import catalogue

SHORTEST = 12  # letters of a piece that shows in which language a page speaks
#: what the invented shop's people typed themselves, which nobody translates
TYPED = ("valve open, no hiss",)
#: clauses and practices stay as they are cited
CITED = re.compile(r"CFR|trade practice|\[common practice\]")
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
        if not self.unread and not CITED.search(data):
            self.text.append(data)


@lru_cache
def pieces() -> dict[str, str]:
    """The fixed words of each English sentence, as long as they are not the same in French."""
    found: dict[str, str] = {}
    for message in catalogue.stored("fr"):
        english = message.id if isinstance(message.id, str) else message.id[0]
        french = " ".join(both(message.string))
        for piece in fixed(english):
            if piece.casefold() not in french.casefold():
                found[piece] = english
    return found


def both(message: catalogue.Message | None) -> tuple[str, ...]:
    """A sentence, or both of its numbers."""
    return (message,) if isinstance(message, str) else tuple(message or ())


def fixed(sentence: str) -> list[str]:
    if "%(" in sentence:
        parts = re.split(r"%\([a-z_0-9]+\)s", sentence)
    elif "{" in sentence:
        parts = [literal for literal, _, _, _ in Formatter().parse(sentence)]
    else:
        parts = [sentence]
    return [part.strip(" .:;,()") for part in parts if sum(map(str.isalpha, part)) >= SHORTEST]


def english_in(text: str) -> list[str]:
    """The pieces of English sentences that stand in ``text``."""
    return [piece for piece in pieces() if piece in text and piece not in TYPED]


def read(html: str) -> Seen:
    seen = Seen()
    seen.feed(html)
    return seen
