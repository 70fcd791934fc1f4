"""What a message is about, what it is made of, and who writes it.

The domain knows who is to be told what; how it is said, with which link and which tag code, is for
the edge to know. So the edge provides the writer: ``settings.NOTICE_WRITER`` names it.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol, cast

from django.conf import settings
from django.utils.crypto import salted_hmac
from django.utils.module_loading import import_string

from cylinders.facts import Actor
from cylinders.models import Customer, Cylinder, MessageKind, Notice
from cylinders.rules.duties import Duty

#: Who writes the history of messages.
SWEEP = Actor("service", "sweep")


@dataclass(frozen=True, slots=True)
class Line:
    """One thing that a message tells: a duty of a cylinder, or news of its visit."""

    notice: Notice
    cylinder: Cylinder
    duty: Duty | None = None


@dataclass(frozen=True, slots=True)
class Letter:
    """A message ready to go; ``headers`` come on top of its Message-ID."""

    to: str
    subject: str
    text: str
    html: str
    headers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Text:
    """A text message ready to go: a number, and words that hold no name."""

    to: str
    text: str


class TextSender(Protocol):
    """The hook by which text messages go; ``settings.TEXT_SENDER`` names a class of this shape.

    ``key`` is the same for the same message, so a provider that folds by it sends it once.
    """

    def send(self, message: Text, *, key: str) -> None:
        """Send it, or raise one of the exceptions below.

        :class:`NumberRefused` where the number takes no messages, :class:`TryLater` where the
        message was certainly not taken. Any other exception leaves it unsure.
        """
        ...


class NumberRefused(Exception):
    """The number takes no text messages."""


class TryLater(Exception):
    """The message was certainly not taken, and may be tried again."""


class TextWriter(Protocol):
    """As :class:`Writer`, for a text message."""

    def __call__(
        self,
        *,
        customer: Customer,
        kind: MessageKind,
        lines: Sequence[Line],
        on: dt.date,
        at: dt.datetime,
    ) -> Text:
        """Write it."""
        ...


class Writer(Protocol):
    """Puts into words what a customer is to be told on day ``on``.

    Runs inside the transaction that marks the message as going, so a link that it issues exists if
    and only if the message may have gone.
    """

    def __call__(
        self,
        *,
        customer: Customer,
        kind: MessageKind,
        lines: Sequence[Line],
        on: dt.date,
        at: dt.datetime,
    ) -> Letter:
        """Write it."""
        ...


def writer() -> Writer:
    """The writer that the settings name."""
    return cast("Writer", import_string(settings.NOTICE_WRITER))


def text_writer() -> TextWriter:
    """The writer of text messages that the settings name."""
    return cast("TextWriter", import_string(settings.TEXT_WRITER))


def text_sender() -> TextSender:
    """A fresh sender of text messages, as the settings name it."""
    return cast("TextSender", import_string(settings.TEXT_SENDER)())


def message_id(notices: Sequence[Notice]) -> str:
    """The Message-ID of these rows: always the same for the same rows, and told to nobody else.

    A receiver that gets one message twice can fold it by this.
    """
    keys = sorted(
        f"{row.cylinder_id}:{row.duty}:{row.due}:{row.days_before}:{row.channel}:{row.occasion}"
        for row in notices
    )
    name = salted_hmac("cylinders.notice", "\n".join(keys), algorithm="sha256").hexdigest()[:40]
    host = settings.DEFAULT_FROM_EMAIL.rpartition("@")[2].strip("> ") or "localhost"
    return f"<{name}@{host}>"
