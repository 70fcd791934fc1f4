"""The body of a request: its size, type and encoding are looked at before a byte is believed."""

from typing import Any

from rest_framework.request import Request

from api.problems import Fault, Problem
from cylinders.rules.judgement.problem import UnusableBody
from cylinders.rules.judgement.strict_json import LARGEST, loads


def read_json(request: Request) -> Any:
    """The JSON value of the body; raises :class:`Problem`: 400, 413 or 415."""
    raw = read(request, media_types=("application/json",), most=LARGEST)
    if not raw.strip():
        raise Problem("malformed_json", "The body is empty. Send one JSON object.")
    try:
        return loads(raw)
    except UnusableBody as unusable:
        raise unreadable(unusable) from unusable


def read(request: Request, *, media_types: tuple[str, ...], most: int) -> bytes:
    """The bytes of the body, at most ``most`` of them, in UTF-8 and one of these types."""
    _check_type(request, media_types)
    encoding = request.headers.get("Content-Encoding", "identity")
    if encoding.lower() != "identity":
        raise Problem("unsupported_media_type", "Send the body as it is, not compressed.")
    too_large = Problem("body_too_large", f"At most {most} bytes are read.")
    length = request.headers.get("Content-Length", "")
    if length.isascii() and length.isdigit() and int(length[:20]) > most:
        raise too_large
    raw: bytes = request._request.read(most + 1)  # noqa: SLF001 - the framework's way to the wire
    if len(raw) > most:
        raise too_large
    return raw


def unreadable(unusable: UnusableBody) -> Problem:
    """No JSON that can be trusted."""
    return Problem("malformed_json", str(unusable), faults=faults(unusable))


def misshapen(unusable: UnusableBody) -> Problem:
    """JSON, but not the shape that was agreed."""
    count = len(unusable.problems)
    says = f"{count} {'place needs' if count == 1 else 'places need'} mending; see errors."
    return Problem("invalid_body", says, faults=faults(unusable))


def faults(unusable: UnusableBody) -> tuple[Fault, ...]:
    """Each problem of a body with its place."""
    return tuple(Fault(one.pointer, one.code, one.says) for one in unusable.problems)


def _check_type(request: Request, media_types: tuple[str, ...]) -> None:
    header = request.headers.get("Content-Type", "")
    media_type, *parameters = (part.strip().lower() for part in header.split(";"))
    wanted = " or ".join(media_types)
    if media_type not in media_types:
        named = f"not {media_type[:60]}" if media_type else "the header Content-Type is missing"
        raise Problem("unsupported_media_type", f"Send {wanted}; {named}.")
    for parameter in parameters:
        name, _equals, value = parameter.partition("=")
        if name == "charset" and value.strip('"') not in {"utf-8", "utf8"}:
            raise Problem("unsupported_media_type", f"Send {wanted} in UTF-8.")
