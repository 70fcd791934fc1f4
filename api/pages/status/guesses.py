"""Slow down whoever tries something too often, counted by address.

For secret links and codes of tags only failures are counted, so what is true always opens.
"""

import logging

from django.core.cache import cache
from django.http import HttpRequest

from api.neighbourhood import neighbourhood

log = logging.getLogger(__name__)

MOST = 30
SECONDS = 60


def too_many(
    request: HttpRequest, *, what: str = "guess", most: int = MOST, seconds: int = SECONDS
) -> bool:
    """Count one try of this address; true once it has had its share for now."""
    key = f"tries:{what}:{neighbourhood(request)}"
    if cache.add(key, 1, timeout=seconds):
        return False
    try:
        tries = cache.incr(key)
    except ValueError:  # it ran out between the two
        return False
    if tries == most + 1:
        log.warning("one address has tried %s more than %s times in %s s", what, most, seconds)
    return tries > most
