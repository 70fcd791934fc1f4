"""Slow down whoever tries tokens: only failures are counted, so a true link always opens."""

from django.core.cache import cache
from django.http import HttpRequest

MOST = 30
SECONDS = 60


def too_many(request: HttpRequest) -> bool:
    """Count one failed try of this address; true once it has had its share for now."""
    key = f"guesses:{request.META.get('REMOTE_ADDR', '')}"
    if cache.add(key, 1, timeout=SECONDS):
        return False
    try:
        return cache.incr(key) > MOST
    except ValueError:  # it ran out between the two
        return False
