"""Answers as they travel: JSON text, made once, so that a stored answer is the same to the byte."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpResponse
from django.utils.http import parse_etags
from rest_framework.request import Request

MEDIA_TYPE = "application/json"
NOT_MODIFIED = 304


@dataclass(frozen=True, slots=True)
class Answer:
    """Status, JSON text, and where the thing that was made can be read."""

    status: int
    text: str
    location: str = ""

    def response(self) -> HttpResponse:
        """The same as a response."""
        response = HttpResponse(self.text, content_type=MEDIA_TYPE, status=self.status)
        if self.location:
            response.headers["Location"] = self.location
        return response


def of(
    members: Mapping[str, Any],
    *,
    status: int = 200,
    location: str = "",
    as_sent: Mapping[str, str] | None = None,
) -> Answer:
    """An answer that says ``members``; ``as_sent`` are members whose JSON text is kept as it is."""
    texts = [f"{_text(name)}: {_text(value)}" for name, value in members.items()]
    texts += [f"{_text(name)}: {text}" for name, text in (as_sent or {}).items()]
    return Answer(status, "{" + ", ".join(texts) + "}", location)


def tagged(request: Request, answer: Answer) -> HttpResponse:
    """The answer with a strong ETag (RFC 9110 8.8.3), or 304 when the caller has it already."""
    tag = etag(answer)
    known = {
        one.removeprefix("W/") for one in parse_etags(request.headers.get("If-None-Match", ""))
    }
    response = HttpResponse(status=NOT_MODIFIED) if known & {tag, "*"} else answer.response()
    response.headers["ETag"] = tag
    return response


def etag(answer: Answer) -> str:
    """The strong ETag of an answer: it changes with any byte of it."""
    return f'"{hashlib.sha256(answer.text.encode()).hexdigest()[:32]}"'


def _text(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
