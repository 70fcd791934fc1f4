"""Hand one message over, as e-mail or to the hook for texts, and say what is known of it then."""

import logging
import smtplib
from enum import StrEnum
from typing import cast

from django.core import mail
from django.core.mail import EmailMultiAlternatives
from django.core.mail.backends.base import BaseEmailBackend

from cylinders.operations.reminders.letters import (
    Letter,
    NumberRefused,
    Text,
    TryLater,
    text_sender,
)
from cylinders.rules.wording import say

log = logging.getLogger(__name__)
_PERMANENT = 500


class Fate(StrEnum):
    """What became of a message at the mail server."""

    SENT = "sent"
    LATER = "later"  # certainly not taken; it may be tried again
    REFUSED = "refused"  # this address takes no messages
    FAILED = "failed"  # certainly not taken, and trying again is of no use
    UNSURE = "unsure"  # taken or not, nobody can tell


def hand_over(letter: Letter | Text, *, message_id: str) -> tuple[Fate, str]:
    """Send ``letter``; returns its fate and the reason, which holds no address.

    Only what the server said for certain counts as "not taken"; a connection that broke while the
    message was going is unsure.
    """
    if isinstance(letter, Text):
        return _by_text(letter, key=message_id)
    try:
        message = _message(letter, message_id)
        connection = _mail_server()
    except ValueError as problem:
        return Fate.FAILED, say(
            "cannot be put into a message ({name})", name=type(problem).__name__
        )
    try:
        connection.open()
    except (OSError, smtplib.SMTPException) as problem:
        return Fate.LATER, say(
            "no connection to the mail server ({name})", name=type(problem).__name__
        )
    try:
        connection.send_messages([message])
    except (OSError, ValueError) as problem:
        fate = _fate(problem)
        log.warning("message %s: %s (%s)", message_id, fate, type(problem).__name__)
        return fate, _reason(problem)
    finally:
        _close(connection)
    return Fate.SENT, ""


def _by_text(text: Text, *, key: str) -> tuple[Fate, str]:
    try:
        sender = text_sender()
    except ImportError as problem:
        return Fate.LATER, say("no way to send text messages ({name})", name=type(problem).__name__)
    try:
        sender.send(text, key=key)
    except NumberRefused:
        return Fate.REFUSED, say("the number takes no text messages")
    except TryLater:
        return Fate.LATER, say("the text message was not taken")
    except Exception as problem:  # noqa: BLE001 - whatever a hook raises, nobody knows what it did
        log.warning("text message %s: unsure (%s)", key, type(problem).__name__)
        return Fate.UNSURE, type(problem).__name__
    return Fate.SENT, ""


def _mail_server() -> BaseEmailBackend:
    newer = getattr(mail, "mailers", None)  # Django 6.1 and later; the other name warns there
    return cast("BaseEmailBackend", newer.default if newer else mail.get_connection())


def _message(letter: Letter, message_id: str) -> EmailMultiAlternatives:
    headers = {"Message-ID": message_id, "Auto-Submitted": "auto-generated", **letter.headers}
    message = EmailMultiAlternatives(
        subject=letter.subject, body=letter.text, to=[letter.to], headers=headers
    )
    message.attach_alternative(letter.html, "text/html")
    message.message()  # finds a line break in a header before anything is sent
    return message


def _fate(problem: Exception) -> Fate:
    """What an exception of smtplib tells of the message, by the point at which it is raised."""
    if isinstance(problem, smtplib.SMTPRecipientsRefused):
        codes = [code for code, _ in problem.recipients.values()]
        return Fate.REFUSED if all(code >= _PERMANENT for code in codes) else Fate.LATER
    if isinstance(problem, smtplib.SMTPServerDisconnected):
        return Fate.UNSURE
    if isinstance(problem, smtplib.SMTPDataError):
        return Fate.FAILED if problem.smtp_code >= _PERMANENT else Fate.LATER
    if isinstance(problem, smtplib.SMTPException | ConnectionRefusedError):
        return Fate.LATER  # refused before the message itself was offered
    return Fate.FAILED if isinstance(problem, ValueError) else Fate.UNSURE


def _reason(problem: Exception) -> str:
    if isinstance(problem, smtplib.SMTPRecipientsRefused):
        codes = sorted({str(code) for code, _ in problem.recipients.values()})
        return say("the mail server refused the address ({codes})", codes=", ".join(codes))
    if isinstance(problem, smtplib.SMTPResponseException):
        return say("the mail server answered {smtp_code}", smtp_code=problem.smtp_code)
    return type(problem).__name__


def _close(connection: object) -> None:
    try:
        connection.close()  # type: ignore[attr-defined]  # every mail back end of Django has it
    except (OSError, smtplib.SMTPException):
        log.info("the mail server closed the connection first")
