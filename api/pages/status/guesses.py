"""Slow down whoever tries something too often, counted by address.

For secret links only failures are counted, so a true link always opens.
"""

from django.core.cache import cache
from django.http import HttpRequest

MOST = 30
SECONDS = 60


def too_many(
    request: HttpRequest, *, what: str = "guess", most: int = MOST, seconds: int = SECONDS
) -> bool:
    """Count one try of this address; true once it has had its share for now."""
    key = f"tries:{what}:{request.META.get('REMOTE_ADDR', '')}"
    if cache.add(key, 1, timeout=seconds):
        return False
    try:
        return cache.incr(key) > most
    except ValueError:  # it ran out between the two
        return False
