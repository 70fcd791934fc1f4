"""The cache in Redis or Valkey, for a house that goes on working while that server is away.

Nothing true stands in the cache: it counts tries, and remembers what was looked at. So when it
cannot be asked it answers as an empty one, at once, and a scan or a lab's record comes through
(rate limits fail open there). Wrong passwords and keys are counted in the database instead
(:mod:`api.pages.lock_out`), so doors stay shut whether or not there is a cache.
"""

import logging
import time
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from django.core.cache.backends.redis import RedisCache
from redis.backoff import NoBackoff
from redis.exceptions import RedisError
from redis.retry import Retry

T = TypeVar("T")
SECONDS = 0.2  # longest wait for the server; a scan must stay quick
PAUSE = 2.0  # seconds in which it is not asked again after it failed

_log = logging.getLogger("api.cache")


class ForgivingCache(RedisCache):
    """Django's own, that never raises because its server is away."""

    def __init__(self, server: str, params: dict[str, Any]) -> None:
        quick = {
            "socket_connect_timeout": SECONDS,
            "socket_timeout": SECONDS,
            "retry": Retry(NoBackoff(), 0),
        }
        super().__init__(server, params | {"OPTIONS": quick | params.get("OPTIONS", {})})
        self.asked_again_at = 0.0

    def _or(self, ask: Callable[[], T], *, otherwise: T) -> T:
        if time.monotonic() < self.asked_again_at:
            return otherwise
        try:
            return ask()
        except (RedisError, OSError) as problem:
            self.asked_again_at = time.monotonic() + PAUSE
            _log.warning("the cache cannot be asked: %s", type(problem).__name__)
            return otherwise

    def add(self, *args: Any, **kwargs: Any) -> bool:
        """True, as for a key that was not there."""
        return self._or(lambda: RedisCache.add(self, *args, **kwargs), otherwise=True)

    def get(self, key: Any, default: Any = None, version: int | None = None) -> Any:
        """The default."""
        return self._or(lambda: RedisCache.get(self, key, default, version), otherwise=default)

    def set(self, *args: Any, **kwargs: Any) -> None:
        """Keep nothing."""
        self._or(lambda: RedisCache.set(self, *args, **kwargs), otherwise=None)

    def touch(self, *args: Any, **kwargs: Any) -> bool:
        """False, as for a key that is not there."""
        return self._or(lambda: RedisCache.touch(self, *args, **kwargs), otherwise=False)

    def delete(self, *args: Any, **kwargs: Any) -> bool:
        """False."""
        return self._or(lambda: RedisCache.delete(self, *args, **kwargs), otherwise=False)

    def has_key(self, *args: Any, **kwargs: Any) -> bool:
        """False."""
        return self._or(lambda: RedisCache.has_key(self, *args, **kwargs), otherwise=False)

    def incr(self, key: Any, delta: int = 1, version: int | None = None) -> int:
        """Raise ``ValueError``, as for a key that is not there."""
        counted = self._or(lambda: RedisCache.incr(self, key, delta, version), otherwise=None)
        if counted is None:
            raise ValueError(f"key {key!r} not found")
        return counted

    def get_many(self, *args: Any, **kwargs: Any) -> dict[Any, Any]:
        """Nothing."""
        return self._or(lambda: RedisCache.get_many(self, *args, **kwargs), otherwise={})

    def set_many(self, data: Mapping[Any, Any], *args: Any, **kwargs: Any) -> list[Any]:
        """Keep nothing."""
        return self._or(
            lambda: RedisCache.set_many(self, dict(data), *args, **kwargs), otherwise=[]
        )

    @property
    def is_away(self) -> bool:
        """Whether the server did not answer just now."""
        self.asked_again_at = 0.0
        self.has_key("is-anybody-there")
        return self.asked_again_at > 0

    def clear(self) -> None:
        """Keep what is there."""
        self._or(lambda: RedisCache.clear(self), otherwise=None)
