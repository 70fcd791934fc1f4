"""Sends bytes to a printer's raw port (usually 9100)."""

from __future__ import annotations

import socket

from cylinders.rules.wording import say
from labels.printing.fault import PrinterFault, Unclear

TIMEOUT_S = 10.0


def send(host: str, port: int, data: bytes, *, timeout: float = TIMEOUT_S) -> None:
    """Send all of ``data``; raises :class:`PrinterFault` before, :class:`Unclear` after a start.

    The port answers nothing: even a full send only means that the printer took the bytes.
    """
    try:
        connection = socket.create_connection((host, port), timeout=timeout)
    except OSError as error:
        raise PrinterFault(
            say(
                "the printer at {host}:{port} does not answer: {error}",
                host=host,
                port=port,
                error=error,
            )
        ) from error
    with connection:
        try:
            connection.sendall(data)
            connection.shutdown(socket.SHUT_WR)
        except OSError as error:
            raise Unclear(
                say("the connection to {host}:{port} broke while printing", host=host, port=port)
            ) from error
