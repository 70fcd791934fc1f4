"""Pages for strangers, kept for the next who asks: under what they follow from, never by address.

A key is made of everything that the page is made of, so a kept page is never older than its facts
and never has to be taken back. A cache that does not answer only costs time.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from django.core.cache import caches

log = logging.getLogger(__name__)
_A_DAY = 24 * 3600  # seconds; the day is part of each key that depends on it


@dataclass(frozen=True, slots=True)
class Kept:
    """A page as it is sent, with what a browser may ask for it by."""

    body: bytes
    etag: str


def name_of(*facts: object) -> str:
    """The key of the page that follows from ``facts``: plain values, or tuples of such."""
    return f"page:{sha256(repr(facts).encode()).hexdigest()}"


def page(key: str, make: Callable[[], str], *, seconds: int = _A_DAY) -> Kept:
    """The page of that key: as it was kept, or made now and kept for ``seconds``."""
    found = look(key)
    if found is not None:
        return found
    body = make().encode()
    made = Kept(body, f'"{sha256(body).hexdigest()[:24]}"')
    _quietly(lambda: caches["pages"].set(key, made, seconds))
    return made


def look(key: str) -> Kept | None:
    """The page of that key if it is kept."""
    found = _quietly(lambda: caches["pages"].get(key))
    return found if isinstance(found, Kept) else None


def _quietly(ask: Callable[[], Any]) -> Any:
    try:
        return ask()
    except Exception:  # each backend raises its own kinds
        log.warning("The cache of pages does not answer; pages are made anew.", exc_info=True)
        return None
