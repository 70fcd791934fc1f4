"""Logs: one JSON object a line, with the request's id; plain text on a terminal.

No line holds a secret: long random parts of a path (a customer's link) are masked here, at the
last moment, whoever wrote the line. Line breaks inside a message are escaped by JSON.
"""

import json
import logging
import re
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

request_id: ContextVar[str] = ContextVar("request_id", default="")

FACTS = ("actor", "lab", "cylinder", "job", "method", "status", "ms")
SECRET_IN_PATH = re.compile(r"(?<=/)[A-Za-z0-9_-]{20,}")
FRAME = '  File "'


def masked(text: str) -> str:
    """Replace what may be a link's token: 20 or more letters, digits, - or _ after a slash.

    >>> masked("GET /s/q3Jd0bXnq8vTzY1mW4kLrA/calendar")
    'GET /s/****/calendar'
    """
    return SECRET_IN_PATH.sub("****", text)


def masked_trace(trace: str) -> str:
    """Mask a traceback, but keep the names of its files: they are paths too."""
    lines = trace.splitlines()
    return "\n".join(line if line.startswith(FRAME) else masked(line) for line in lines)


class JsonLines(logging.Formatter):
    """Write a record as one line of JSON: ts, level, logger, msg, request_id, then known facts."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line; fields without a value are left out."""
        line: dict[str, Any] = {
            "ts": datetime.fromtimestamp(record.created, tz=UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "msg": masked(record.getMessage()),
            "request_id": request_id.get(),
        }
        line |= {name: getattr(record, name, None) for name in FACTS}
        if record.exc_info:
            line["trace"] = masked_trace(self.formatException(record.exc_info))
        return json.dumps({key: value for key, value in line.items() if value not in ("", None)})


class OneLine(logging.Formatter):
    """Write a record for a person: level, logger, message."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line, with line breaks of the message made visible."""
        said = masked(record.getMessage()).replace("\n", "\\n").replace("\r", "\\r")
        line = f"{record.levelname.lower():8}{record.name}: {said}"
        if record.exc_info:
            line += "\n" + masked_trace(self.formatException(record.exc_info))
        return line


def configuration(*, form: str, level: str) -> dict[str, Any]:
    """Return Django's LOGGING: everything to stderr, `form` is "json" or "text"."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"json": {"()": JsonLines}, "text": {"()": OneLine}},
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": form}},
        "root": {"handlers": ["stderr"], "level": level},
        # Django's own handlers would say everything twice, and mail tracebacks.
        "loggers": {
            "django": {"handlers": [], "propagate": True},
            "django.server": {"handlers": [], "propagate": True},
            # Strangers' noise: the line of access log tells of each refused host too.
            "django.security.DisallowedHost": {"level": "CRITICAL"},
            "gunicorn.http.wsgi": {"level": "ERROR"},  # else it says of each HEAD that it is one
            "celery": {"level": "DEBUG" if level == "DEBUG" else "WARNING"},
        },
    }
