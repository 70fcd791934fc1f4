"""What templates need to speak to a person; loaded in every template of the pages."""

from decimal import Decimal
from typing import Any

from django import template
from django.utils.html import json_script

from api import wording
from api.pages import phrases as spoken
from cylinders.models import Part
from cylinders.rules.quantity import Quantity

register = template.Library()


@register.filter
def said(text: Any) -> str:
    """A sentence of a rule, a word of a list or a stored sentence, in the reader's language."""
    if isinstance(text, Part):
        return wording.part_name(text)
    return "" if text is None else wording.told(text if isinstance(text, str) else str(text))


@register.filter
def amount(quantity: Quantity | None) -> str:
    """A quantity as stamped, with the reader's own unit beside it; rounded down there."""
    return "" if quantity is None else wording.amount(quantity)


@register.filter
def measured(value: Decimal | str, unit: str) -> str:
    """A number and its unit as filled or read, with the reader's own unit beside it."""
    return wording.amount(Quantity(Decimal(value), unit))


@register.simple_tag
def phrases(page: str) -> str:
    """The phrases of the scripts of a page, as data; nothing where the page speaks English."""
    table = spoken.in_this_language(page)
    return json_script(table, "phrases") if table else ""
