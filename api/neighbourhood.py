"""Who asked, as far as counting needs to know: an address, or the network that it is in."""

import ipaddress

from django.http import HttpRequest

_WHOLE, _HOUSEHOLD = 32, 64  # bits of an address of version 4; of a household's in version 6


def neighbourhood(request: HttpRequest) -> str:
    """The address that asked, as tries are counted; of version 6 the whole of its /64.

    A household or a phone has the whole /64 to choose from, so one address of it says nothing.
    """
    network = network_of(request, ipv4_bits=_WHOLE, ipv6_bits=_HOUSEHOLD)
    return network.removesuffix(f"/{_WHOLE}") if network else address_of(request)


def network_of(request: HttpRequest, *, ipv4_bits: int, ipv6_bits: int) -> str:
    """The network of so many bits that asked; empty where no address is known."""
    address = address_of(request)
    try:
        bits = ipv4_bits if ipaddress.ip_address(address).version == 4 else ipv6_bits  # noqa: PLR2004 - IPv4
        return str(ipaddress.ip_network(f"{address}/{bits}", strict=False))
    except ValueError:
        return ""


def address_of(request: HttpRequest) -> str:
    """The address as the web server says it; what a header claims does not count."""
    return str(request.META.get("REMOTE_ADDR", ""))
