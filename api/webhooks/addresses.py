"""Which addresses may be called: https on its own port, by name, and public ones only.

Whoever registers an address must not be able to make this service speak to the inside of the
shop's network (OWASP API7:2023; ASVS 5.0.0 V1.3.6). So the address is plain, its name is resolved
once, every address behind it is looked at, and the call goes to the one that was looked at.
"""

import ipaddress
import re
import socket
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from urllib.parse import urlsplit

from cylinders.rules.refusal import Refused

PORT = 443
#: a host name of so many signs at most leaves room for nothing else (RFC 1035 section 2.3.4)
LONGEST = 253
_LABEL = "[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?"
#: a full name, the last label of which begins with a letter: never a number in disguise
_HOST = rf"(?:{_LABEL}\.)+[a-z][a-z0-9-]{{0,61}}[a-z0-9]"
FORM = rf"^https://{_HOST}(?:/[A-Za-z0-9/._~!$&'()*+,;=:@%?-]*)?$"
_HOST_FORM, _URL_FORM = re.compile(_HOST, re.ASCII), re.compile(FORM, re.ASCII)
#: the prefixes behind which another network's addresses hide (RFC 6052, RFC 3056, RFC 4380)
_DISGUISES = tuple(
    map(ipaddress.ip_network, ("64:ff9b::/96", "64:ff9b:1::/48", "2002::/16", "2001::/32"))
)
Address = ipaddress.IPv4Address | ipaddress.IPv6Address
Resolve = Callable[[str], Iterable[str]]
IsPublic = Callable[[Address], bool]


@dataclass(frozen=True, slots=True)
class Target:
    """A host by name and what to ask of it, as the request line has it."""

    host: str
    path: str


def read(url: str, *, own_host: str) -> Target:
    """Read an address to call; raises :class:`Refused` (``webhook_address``) with the reason."""
    if len(url) > LONGEST or not url.isascii() or not url.isprintable():
        raise _refused(f"The address is longer than {LONGEST} signs, or not plain ASCII.")
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError:
        raise _refused("That is no address.") from None
    host = parts.hostname or ""
    if parts.scheme != "https" or not url.startswith("https://"):
        raise _refused("The address begins with https://.")
    if parts.username is not None or parts.password is not None or "#" in url:
        raise _refused("The address holds no user, no password and no part behind a #.")
    if port is not None:
        raise _refused(f"Calls go to port {PORT}; name no port.")
    if not _HOST_FORM.fullmatch(host):
        raise _refused("The host is a full name in plain letters, not a number or a short name.")
    if host == own_host.lower():
        raise _refused("That is this service itself.")
    if not _URL_FORM.fullmatch(url):
        raise _refused("Write the host in small letters, and percent-encode other signs.")
    return Target(host, (parts.path or "/") + (f"?{parts.query}" if parts.query else ""))


def resolve(host: str) -> list[str]:
    """Every address of ``host``, as the machine's resolver gives them."""
    found = socket.getaddrinfo(host, PORT, type=socket.SOCK_STREAM)
    return list(dict.fromkeys(str(row[4][0]) for row in found))


def is_public(address: Address) -> bool:
    """Whether an address is somebody's in the open internet, and stands for itself alone."""
    if isinstance(address, ipaddress.IPv6Address) and (
        address.ipv4_mapped or any(address in network for network in _DISGUISES)
    ):
        return False
    return address.is_global and not address.is_multicast and not address.is_reserved


def one_public(host: str, *, resolve: Resolve, is_public: IsPublic = is_public) -> str:
    """One address of ``host`` to connect to; refused where any of them is not public.

    A name that has one address inside and one outside is a trap, so one bad address refuses all.
    Raises :class:`Refused` (``webhook_address``).
    """
    try:
        addresses = list(resolve(host))
    except (OSError, UnicodeError):
        addresses = []
    if not addresses:
        raise _refused(f"The name {host} is not known.")
    for address in addresses:
        if not is_public(ipaddress.ip_address(address.partition("%")[0])):
            raise _refused(f"The name {host} leads to an address that is not public.")
    return addresses[0]


def _refused(says: str) -> Refused:
    return Refused("webhook_address", says)
