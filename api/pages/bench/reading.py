"""A stamp as it was understood: marks, warnings, questions and what was not read."""

import dataclasses
import datetime as dt
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from api.pages.page import StaffView
from api.wording import word
from cylinders.models import Shop
from cylinders.queries.owner_rows import extra_rows
from cylinders.rules.markings import Reading, Warned, as_json, read
from cylinders.rules.markings.usable import LONGEST
from cylinders.rules.stamp_due import answer
from cylinders.rules.verdict import Citation
from cylinders.rules.wording import say

_TOO_LONG = Warned(
    code="stamp_too_long",
    says=say(
        "Nothing was read: the text has more than {longest_stamp} signs, and a stamp has a few "
        "hundred. Type only what is stamped on this cylinder.",
        longest_stamp=LONGEST,
    ),
    cites=Citation("a limit of this page"),
)


class ReadingFragment(StaffView):
    """What was understood so far, for a page that asks while somebody types."""

    def post(self, request: HttpRequest) -> HttpResponse:
        """The fragment; nothing is stored."""
        reading = reading_of(request.POST.get("stamp", ""), on=self.on)
        context = reading_context(reading) | decided(reading)
        return render(request, "pages/bench/reading.html", context)


def reading_of(text: str, *, on: dt.date) -> Reading:
    """The reading of a stamp by the shop's country; a browser's line ends count as one sign.

    Of a text that is too long nothing is read: half a stamp can look like another cylinder's.
    """
    shop = Shop.objects.first()
    plain = one_sign_a_line(text)
    country = shop.country if shop else "US"
    if len(plain) <= LONGEST:
        return read(plain, on=on, country=country)
    return dataclasses.replace(read("", on=on, country=country), text=plain, warnings=(_TOO_LONG,))


def one_sign_a_line(text: str) -> str:
    """``text`` with the line ends that a browser sends (CR LF) as they were typed."""
    return text.replace("\r\n", "\n")


def reading_context(reading: Reading) -> dict[str, Any]:
    """What the fragment shows of ``reading``."""
    return {
        "reading": reading,
        "understood": [line_of(mark) for mark in as_json(reading)["marks"]],
        "stamp": reading.text,
    }


def decided(reading: Reading) -> dict[str, Any]:
    """What follows from the stamp alone: what is due, and whether it may be filled and how high."""
    if not reading.marks:
        return {}
    told = answer(reading, extra=extra_rows())
    return {
        "duties": [(_TONES[item["state"]], item) for item in told["items"]],
        "fill": told["fill"],
    }


def line_of(mark: dict[str, Any]) -> tuple[str, str]:
    """One mark as a heading and what was read in it."""
    kind = word(str(mark["kind"])).capitalize()
    read_in_it = [
        f"{word(name)} {_plain(value)}"
        for name, value in mark.items()
        if name in _TOLD and value not in (None, "", [], False)
    ]
    return kind, ", ".join(read_in_it)


_TONES = {
    "in_date": "ok",
    "due_soon": "caution",
    "due_this_month": "caution",
    "overdue": "fail",
    "unknown": "unknown",
}
#: what is told of a mark, in this order
_TOLD = (
    "authority",
    "spec",
    "standard",
    "permit",
    "service_pressure",
    "working_pressure",
    "test_pressure",
    "min_test_pressure",
    "material",
    "serial",
    "manufacturer_mark",
    "inspector_mark",
    "test_date",
    "initial_date",
    "date",
    "rin",
    "symbol",
    "thread",
    "alloy",
    "ree_cc",
    "word",
    "value",
    "method",
    "due",
)


def _plain(value: object) -> str:
    if isinstance(value, dict):
        return f"{value.get('value')} {value.get('unit')}"
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
