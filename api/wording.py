"""Sentences of the rules and of the stored history in the language and units of whoever reads.

A sentence made by :func:`cylinders.rules.wording.say` is said anew from its template and figures.
A plain one is looked up as it stands: a word of a list, or a sentence without figures. One that was
stored with its figures in it is recognised by its template; whatever is not recognised stays
English, and no figure is ever changed.
"""

from collections.abc import Iterable
from decimal import Decimal
from enum import Enum
from string import Formatter
from typing import Any

from django.utils import formats
from django.utils.translation import get_language, gettext

from api import recognising, units
from cylinders.models import Part
from cylinders.rules.quantity import Quantity
from cylinders.rules.wording import Least, Lowered, Saying


def told(text: str) -> str:
    """``text`` for whoever reads; English as stamped comes back as it is."""
    if isinstance(text, Saying):
        return _Said().vformat(gettext(text.template), (), text.figures)
    if not text or not isinstance(text, str):
        return str(text)
    if isinstance(text, Enum):
        return gettext(text.value)
    plain = gettext(text)
    if plain != text or get_language() in (None, "en"):
        return plain
    return recognising.translated(text, told) or text


def part_name(part: Part) -> str:
    """A part as the bench calls it: its own name or the word for its kind, and its number."""
    return f"{told(part.name or part.get_kind_display())} {part.serial}".strip()


def numbered(one: str, many: str) -> tuple[str, str]:
    """A sentence in both numbers for a table; marks it for the catalogue."""
    return one, many


def word(code: str) -> str:
    """A code of a list as a word: ``internal_visual`` is an internal visual."""
    return told(code.replace("_", " "))


def listed(codes: Iterable[str]) -> str:
    """Codes of a list as words, in a row."""
    return ", ".join(word(code) for code in codes)


def amount(quantity: Quantity, *, least: bool = False) -> str:
    """A quantity as it was stamped, and in the reader's own unit beside it."""
    beside = units.beside(quantity, least=least)
    stamped = with_sign(str(quantity))
    return f"{stamped} ({with_sign(beside)})" if beside else stamped


def with_sign(number: str) -> str:
    """A number in plain figures with the decimal sign of the language."""
    return number.replace(".", formats.get_format("DECIMAL_SEPARATOR"), 1)


class _Said(Formatter):
    """Formats the figures of a sentence for a person."""

    def format_field(self, value: Any, format_spec: str) -> str:
        """Words in the language, numbers with its decimal sign, quantities in the unit."""
        if isinstance(value, Lowered):
            return told(value.sentence).lower()
        if isinstance(value, str | Exception):
            return told(str(value) if isinstance(value, Exception) else value)
        if isinstance(value, Quantity):
            return amount(value)
        if isinstance(value, Least):
            return amount(value.quantity, least=True)
        text = format(value, format_spec)
        if isinstance(value, Decimal | float):
            return with_sign(text)
        return text


__all__ = ["amount", "listed", "numbered", "part_name", "told", "with_sign", "word"]
