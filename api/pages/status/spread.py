"""Notice a link that is opened from many places: it has gone round, and the shop is told to look.

Counted in the cache and forgotten after an hour; what is kept of an address is a keyed digest of
the network it is in, so nothing says who looked from where.
"""

import logging

from django.core.cache import cache
from django.http import HttpRequest
from django.utils.crypto import salted_hmac

from api.neighbourhood import network_of

log = logging.getLogger(__name__)
#: More networks than this in an hour are not one owner on the way.
MOST = 20
_HOUR, _REMEMBERED = 3600, 7 * 24 * 3600  # seconds
_IPV4_NETWORK, _IPV6_NETWORK = 24, 48  # bits


def note(request: HttpRequest, *, link_id: int) -> None:
    """Count one opening of a link; one line in the log when it has gone round."""
    seen = f"link-networks:{link_id}"
    networks: set[str] = cache.get(seen, set())
    network = _network(request)
    if network in networks or len(networks) > MOST:
        return
    cache.set(seen, networks | {network}, timeout=_HOUR)
    if len(networks) == MOST:
        log.warning("link %s was opened from more than %s networks in an hour", link_id, MOST)
        cache.set(f"link-went-round:{link_id}", "1", timeout=_REMEMBERED)


def went_round(link_id: int) -> bool:
    """Whether a link was opened from that many networks in one hour of the last seven days."""
    return cache.get(f"link-went-round:{link_id}") is not None


def _network(request: HttpRequest) -> str:
    text = network_of(request, ipv4_bits=_IPV4_NETWORK, ipv6_bits=_IPV6_NETWORK)
    return salted_hmac("cylinders.networks", text, algorithm="sha256").hexdigest()[:16]
