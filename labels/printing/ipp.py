"""Print-Job of the Internet Printing Protocol on the standard library (RFC 8010, RFC 8011).

Only what sending a PDF needs: one request, its attributes, and the answer's status, job number
and messages. ``print-scaling`` is ``none``: a page that a printer fits to its paper shrinks every
module of every symbol.
"""

from __future__ import annotations

import http.client
import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from cylinders.rules.wording import say
from labels.printing.fault import PrinterFault, Unclear

if TYPE_CHECKING:
    from collections.abc import Iterator

TIMEOUT_S = 30.0
PORT = 631
_PRINT_JOB = 0x0002
_VERSION = 0x0200
_OPERATION, _JOB, _END = 0x01, 0x02, 0x03
_INTEGER, _ENUM = 0x21, 0x23
_NAME, _KEYWORD, _URI, _CHARSET, _LANGUAGE, _MIME = 0x42, 0x44, 0x45, 0x47, 0x48, 0x49
_FIRST_VALUE_TAG = 0x10
_FIRST_ERROR = 0x0100
_LONGEST_ANSWER = 256 * 1024
_HTTP_OK = 200


@dataclass(frozen=True, slots=True)
class Job:
    """What the printer answered: its number for the job and the job's state (RFC 8011 5.3.7)."""

    number: int
    state: int


class AnswerUnreadable(ValueError):
    """Raised for an answer that is no IPP."""


def print_job(
    address: str, document: bytes, *, name: str, mime: str = "application/pdf", user: str = "bench"
) -> Job:
    """Send one document; raises :class:`PrinterFault` or :class:`Unclear`.

    ``address`` is an ``ipp:`` or ``ipps:`` URI from the configuration. A redirect is not followed.
    """
    parts = urlsplit(address)
    secure = parts.scheme == "ipps"
    connect = http.client.HTTPSConnection if secure else http.client.HTTPConnection
    connection = connect(parts.hostname or "", parts.port or PORT, timeout=TIMEOUT_S)
    request = encode(address, name=name, mime=mime, user=user) + document
    try:
        connection.connect()
    except OSError as error:
        raise PrinterFault(
            say("the printer {address} does not answer: {error}", address=address, error=error)
        ) from error
    try:
        connection.request(
            "POST", parts.path or "/", body=request, headers={"Content-Type": "application/ipp"}
        )
        answer = connection.getresponse()
        body = answer.read(_LONGEST_ANSWER)
    except (OSError, http.client.HTTPException) as error:
        raise Unclear(
            say(
                "the connection to {address} broke while printing: {error}",
                address=address,
                error=error,
            )
        ) from error
    finally:
        connection.close()
    if answer.status != _HTTP_OK:
        raise PrinterFault(
            say(
                "the printer {address} answered HTTP {status}",
                address=address,
                status=answer.status,
            )
        )
    return _job(address, body)


def encode(address: str, *, name: str, mime: str, user: str) -> bytes:
    """The request up to where the document begins."""
    return b"".join(
        (
            struct.pack(">HHI", _VERSION, _PRINT_JOB, 1),
            bytes([_OPERATION]),
            _attribute(_CHARSET, "attributes-charset", "utf-8"),
            _attribute(_LANGUAGE, "attributes-natural-language", "en"),
            _attribute(_URI, "printer-uri", address),
            _attribute(_NAME, "requesting-user-name", user),
            _attribute(_NAME, "job-name", name),
            _attribute(_MIME, "document-format", mime),
            bytes([_JOB]),
            _attribute(_KEYWORD, "print-scaling", "none"),
            bytes([_END]),
        )
    )


def _attribute(tag: int, name: str, value: str) -> bytes:
    key, text = name.encode("ascii"), value.encode("utf-8")
    return struct.pack(
        f">BH{len(key)}sH{len(text)}s",
        tag,
        len(key),
        key,
        len(text),
        text,
    )


def _job(address: str, body: bytes) -> Job:
    try:
        status = struct.unpack_from(">HHI", body)[1]
        found = dict(attributes(body))
        number, state = (
            struct.unpack(">i", found.get(key, bytes(4)))[0] for key in ("job-id", "job-state")
        )
    except (struct.error, AnswerUnreadable) as error:
        raise Unclear(
            say("the printer {address} answered something that is no IPP", address=address)
        ) from error
    if status >= _FIRST_ERROR:
        says = found.get("status-message", b"").decode("utf-8", "replace")[:200]
        raise PrinterFault(
            say(
                "the printer {address} refused the job: status {status:#06x} {says}",
                address=address,
                status=status,
                says=says,
            )
        )
    return Job(number=number, state=state)


def attributes(body: bytes) -> Iterator[tuple[str, bytes]]:
    """Names and raw first values of a message's attributes; raises :class:`AnswerUnreadable`."""
    at = 8
    while at < len(body):
        tag = body[at]
        at += 1
        if tag == _END:
            return
        if tag < _FIRST_VALUE_TAG:
            continue
        name, at = _counted(body, at)
        value, at = _counted(body, at)
        if name:
            yield name.decode("ascii", "replace"), value
    raise AnswerUnreadable(say("the attributes have no end"))


def _counted(body: bytes, at: int) -> tuple[bytes, int]:
    if at + 2 > len(body):
        raise AnswerUnreadable(say("the message ends inside an attribute"))
    end = at + 2 + int.from_bytes(body[at : at + 2], "big")
    if end > len(body):
        raise AnswerUnreadable(say("the message ends inside an attribute"))
    return body[at + 2 : end], end
