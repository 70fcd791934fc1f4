"""One call over https: to an address that was looked at, bounded in time and size."""

import contextlib
import http.client
import socket
import ssl
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field

from api.webhooks import addresses
from api.webhooks.addresses import Resolve, Target

#: Seconds for each step of a call, and for all of it.
PATIENCE = 5.0
AT_MOST = 10.0
#: So much of an answer is read at most.
_READ = 2_048
_LONGEST_SAID = 200


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back: a status, or None and why nothing did."""

    status: int | None
    says: str

    @property
    def taken(self) -> bool:
        """Whether the receiver took it: 200 to 299."""
        return self.status is not None and 200 <= self.status < 300  # noqa: PLR2004 - HTTP's own

    @property
    def gone(self) -> bool:
        """Whether the receiver wants no more calls: 410."""
        return self.status == http.client.GONE


@dataclass(frozen=True)
class Way:
    """How names are resolved and whom to trust; tests lead it to a server of their own."""

    resolve: Resolve = addresses.resolve
    is_public: addresses.IsPublic = addresses.is_public
    port: int = addresses.PORT
    tls: ssl.SSLContext = field(default_factory=ssl.create_default_context)


class _Pinned(http.client.HTTPSConnection):
    """A connection to an address that was looked at, with the certificate of the name."""

    def __init__(self, target: Target, address: str, way: Way) -> None:
        super().__init__(target.host, way.port, timeout=PATIENCE, context=way.tls)
        self._address, self._way = address, way

    def connect(self) -> None:
        """Connect to the address, and not to whatever the name may lead to by now."""
        self.sock = socket.create_connection((self._address, self._way.port), PATIENCE)
        self.sock = self._way.tls.wrap_socket(self.sock, server_hostname=self.host)

    def give_up(self) -> None:
        """End a call that takes too long, whatever it waits for."""
        if self.sock:
            with contextlib.suppress(OSError):
                self.sock.shutdown(socket.SHUT_RDWR)


def post(target: Target, body: str, headers: Mapping[str, str], *, way: Way) -> Answer:
    """Post ``body``; every fault of the other side is an answer.

    Raises :class:`Refused` (``webhook_address``) where the name leads inside.
    """
    address = addresses.one_public(target.host, resolve=way.resolve, is_public=way.is_public)
    connection = _Pinned(target, address, way)
    patience = threading.Timer(AT_MOST, connection.give_up)
    patience.start()
    try:
        connection.request("POST", target.path, body.encode(), dict(headers))
        response = connection.getresponse()
        response.read1(_READ)  # so that the other side may finish; nothing in it is needed
    except (OSError, http.client.HTTPException) as fault:
        return Answer(None, f"{type(fault).__name__}: {fault}"[:_LONGEST_SAID])
    finally:
        patience.cancel()
        connection.close()
    return Answer(response.status, f"{response.status} {response.reason}"[:_LONGEST_SAID])
