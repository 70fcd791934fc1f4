"""Printers that are none: a socket that takes everything, and a small printer of the IPP kind.

The IPP printer reads requests by its own few lines, so that it is no mirror of the client.
"""

import socket
import struct
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, HTTPServer
from typing import Any


@dataclass
class Sink:
    """A raw port; ``received`` is whole when :meth:`finished` returns."""

    port: int
    received: bytearray = field(default_factory=bytearray)
    done: threading.Event = field(default_factory=threading.Event)

    def finished(self) -> bytes:
        assert self.done.wait(5)
        return bytes(self.received)


@contextmanager
def raw_port(*, close_after: int | None = None) -> Iterator[Sink]:
    """A label printer's port; with ``close_after`` it breaks off after that many bytes."""
    server = socket.create_server(("127.0.0.1", 0))
    sink = Sink(server.getsockname()[1])

    def take() -> None:
        connection, _ = server.accept()
        with connection:
            while data := connection.recv(4_096):
                sink.received += data
                if close_after is not None and len(sink.received) >= close_after:
                    linger = struct.pack("ii", 1, 0)
                    connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, linger)
                    break
        sink.done.set()

    thread = threading.Thread(target=take, daemon=True)
    thread.start()
    try:
        yield sink
    finally:
        server.close()
        thread.join(5)


@dataclass
class Office:
    """An IPP printer: what it will answer, and what it was sent."""

    status: int = 0x0000
    http_status: int = 200
    answer: bytes | None = None
    hang_up: bool = False
    address: str = ""
    requests: list[dict[str, Any]] = field(default_factory=list)


def parsed(body: bytes) -> dict[str, Any]:
    """Version, operation, request number, attributes by group, and the document."""
    major, minor, operation, number = struct.unpack_from(">BBHI", body)
    groups: list[tuple[int, dict[str, tuple[int, str]]]] = []
    at = 8
    while body[at] != 0x03:
        tag = body[at]
        at += 1
        if tag < 0x10:
            groups.append((tag, {}))
            continue
        name_length = struct.unpack_from(">H", body, at)[0]
        name = body[at + 2 : at + 2 + name_length].decode()
        at += 2 + name_length
        value_length = struct.unpack_from(">H", body, at)[0]
        groups[-1][1][name] = (tag, body[at + 2 : at + 2 + value_length].decode())
        at += 2 + value_length
    return {
        "version": (major, minor),
        "operation": operation,
        "number": number,
        "groups": groups,
        "document": body[at + 1 :],
    }


def answered(status: int, number: int) -> bytes:
    """A Print-Job answer with a job of number 7 that is pending."""
    body = struct.pack(">BBHI", 2, 0, status, number) + b"\x01"
    body += b"\x47\x00\x12attributes-charset\x00\x05utf-8"
    body += b"\x48\x00\x1battributes-natural-language\x00\x02en"
    if status >= 0x0100:
        return body + b"\x41\x00\x0estatus-message\x00\x0dout of labels\x03"
    return (
        body
        + b"\x02"
        + b"\x21\x00\x06job-id\x00\x04\x00\x00\x00\x07"
        + b"\x23\x00\x09job-state\x00\x04\x00\x00\x00\x03"
        + b"\x44\x00\x11job-state-reasons\x00\x04none\x44\x00\x00\x00\x05other"
        + b"\x03"
    )


@contextmanager
def office(printer: Office) -> Iterator[Office]:
    """Run the printer until the block ends."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            printer.requests.append(
                {**parsed(body), "path": self.path, "type": self.headers["Content-Type"]}
            )
            if printer.hang_up:
                self.connection.close()
                return
            answer = printer.answer
            if answer is None:
                answer = answered(printer.status, printer.requests[-1]["number"])
            self.send_response(printer.http_status)
            self.send_header("Content-Type", "application/ipp")
            self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            self.wfile.write(answer)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = HTTPServer(("127.0.0.1", 0), Handler)
    printer.address = f"ipp://127.0.0.1:{server.server_port}/ipp/print"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield printer
    finally:
        server.shutdown()
        server.server_close()
        thread.join(5)
