"""Whom tries are counted for: an address, and of the sixth version of IP the whole of its /64.

A household or a phone has the whole /64 to choose from, so one address of it says nothing.
"""

import ipaddress

from django.http import HttpRequest

_IPV6, _HOUSEHOLD = 6, 64  # version; bits


def neighbourhood(request: HttpRequest) -> str:
    """The address that asked, as tries are counted; empty where none is known."""
    given = str(request.META.get("REMOTE_ADDR", ""))
    try:
        address = ipaddress.ip_address(given)
    except ValueError:
        return given
    if address.version != _IPV6:
        return given
    return str(ipaddress.ip_network(f"{given}/{_HOUSEHOLD}", strict=False))
