"""Read a stamp on the day that these tests share."""

import datetime as dt

from cylinders.rules.markings import Reading, read

TODAY = dt.date(2026, 11, 25)


def reading_of(text: str, country: str = "US") -> Reading:
    return read(text, on=TODAY, country=country)


def warned(reading: Reading) -> set[str]:
    return {warning.code for warning in reading.warnings}


def asked(reading: Reading) -> dict[str, tuple[str, ...]]:
    return {question.code: question.choices for question in reading.questions}


def unread(reading: Reading) -> list[str]:
    return [part.text for part in reading.unread]
