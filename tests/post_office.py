"""A mail server for tests that folds on Message-ID, and a writer that needs no pages."""

import datetime as dt
import json
import os
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend

from cylinders.models import Customer, MessageKind
from cylinders.operations.reminders import Letter, Line

#: Raised or called at the moment a message is handed over; the test sets it.
Fault = Callable[[EmailMessage], None]


class PostOffice:
    """What arrived, in order; ``fault`` is asked before a message counts as arrived."""

    def __init__(self) -> None:
        self.arrived: list[EmailMessage] = []
        self.fault: Fault | None = None

    def empty(self) -> None:
        self.arrived, self.fault = [], None

    @property
    def ids(self) -> Counter[str]:
        return Counter(message.extra_headers["Message-ID"] for message in self.arrived)

    @property
    def folded(self) -> list[EmailMessage]:
        first: dict[str, EmailMessage] = {}
        for message in self.arrived:
            first.setdefault(message.extra_headers["Message-ID"], message)
        return list(first.values())


OFFICE = PostOffice()


class Backend(BaseEmailBackend):
    """Takes messages into :data:`OFFICE`."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        for message in email_messages:
            if OFFICE.fault:
                OFFICE.fault(message)
            OFFICE.arrived.append(message)
        return len(email_messages)


class FileBackend(BaseEmailBackend):
    """Takes each message as one line of a file, so that a killed process leaves what it sent."""

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        for message in email_messages:
            line = json.dumps([message.extra_headers["Message-ID"], message.to[0], message.body])
            handle = os.open(os.environ["TEST_POST_OFFICE"], os.O_WRONLY | os.O_APPEND | os.O_CREAT)
            os.write(handle, line.encode() + b"\n")
            os.close(handle)
        return len(email_messages)


def read_file(path: Path) -> list[list[str]]:
    """The lines that :class:`FileBackend` wrote: Message-ID, address, text."""
    return [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []


def plain_writer(
    *,
    customer: Customer,
    kind: MessageKind,
    lines: Sequence[Line],
    on: dt.date,
    at: dt.datetime,
) -> Letter:
    """Names the rows, one a line."""
    text = "\n".join(
        f"{line.cylinder.pk} {line.notice.duty} {line.notice.due} {line.notice.days_before}"
        for line in lines
    )
    return Letter(customer.email, f"{kind} on {on}", text, f"<pre>{text}</pre>")


def told(messages: Sequence[EmailMessage]) -> Counter[Any]:
    """How often each row was told, by the lines of ``plain_writer``."""
    return Counter(line for message in messages for line in str(message.body).splitlines())
