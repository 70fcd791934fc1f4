"""From the columns of a lab's own file to the fields of a record, by a mapping that the lab saved.

A mapping only moves text to its place: which column is which field, in which unit, with which
decimal sign and order of dates, and what is the same in every line. What does not fit is left as it
is written, so that the reader of records refuses it by name; nothing is guessed or mended.

>>> mapping = Mapping(columns=(Column("PE", "/permanent_expansion", "cc"),), decimal=",")
>>> value_of({"PE": "0,9"}, mapping)
{'permanent_expansion': {'value': '0.9', 'unit': 'cc'}}
"""

import re
from collections.abc import Mapping as Named
from dataclasses import dataclass
from typing import Any

from cylinders.rules.judgement import Problem, UnusableBody
from cylinders.rules.judgement.reader import Fields
from cylinders.rules.quantity import UNITS
from cylinders.rules.refusal import Refused

ENCODINGS = ("utf-8", "windows-1252", "utf-16")
DELIMITERS = (",", ";", "|", "tab")
DECIMALS = (".", ",")
ORDERS = ("YMD", "DMY", "MDY")
MOST_COLUMNS = 100
_POINTER = re.compile(r"(?:/(?:[a-z_]{1,40}|[0-9]{1,2})){1,5}", re.ASCII)
_WITH_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+", re.ASCII)
_DATE = re.compile(r"([0-9]{1,4})[./-]([0-9]{1,2})[./-]([0-9]{1,4})", re.ASCII)
_DATES = ("/date", "/calibration/date")
_WHOLE = ("/stamp/month", "/stamp/year")
#: numbers that have no unit of their own
_NUMBERS = ("/hold_seconds", "/limit_percent", "/heat_exposure_c")
_YEAR_DIGITS, _LONGEST_WHOLE = 4, 6


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its heading, the JSON Pointer of its field, the unit of a measured quantity."""

    column: str
    field: str
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Constant:
    """What is the same in every line, such as the certificate of the calibrated cylinder."""

    field: str
    value: str
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Mapping:
    """How a file is to be read."""

    columns: tuple[Column, ...]
    constants: tuple[Constant, ...] = ()
    delimiter: str = ","
    encoding: str = "utf-8"
    decimal: str = "."
    date_order: str = "YMD"


def read(value: object) -> Mapping:
    """The mapping that a JSON value is.

    Raises ``UnusableBody`` with every place that is wrong, :class:`Refused` (``place_twice``) where
    two columns would fill one field.
    """
    problems: list[Problem] = []
    if value is None:
        raise UnusableBody([Problem("", "wrong_type", "null is not an object")])
    fields = Fields(value, "", problems)
    columns = []
    for row in fields.children("columns", most=MOST_COLUMNS):
        columns.append(Column(row.text("column"), _pointer(row), _unit(row)))
        row.close()
    constants = []
    if fields.given("constants"):
        for row in fields.children("constants", most=MOST_COLUMNS):
            constants.append(Constant(_pointer(row), row.text("value"), _unit(row)))
            row.close()
    made = Mapping(
        columns=tuple(columns),
        constants=tuple(constants),
        delimiter=fields.choice("delimiter", DELIMITERS, ","),
        encoding=fields.choice("encoding", ENCODINGS, "utf-8"),
        decimal=fields.choice("decimal", DECIMALS, "."),
        date_order=fields.choice("date_order", ORDERS, "YMD"),
    )
    fields.close()
    places = [column.field for column in made.columns]
    places += [constant.field for constant in made.constants]
    if problems:
        raise UnusableBody(problems)
    if twice := sorted({place for place in places if places.count(place) > 1}):
        raise Refused("place_twice", f"Filled more than once: {', '.join(twice)}.")
    return made


def value_of(row: Named[str, str], mapping: Mapping) -> dict[str, Any]:
    """The record that one row is, as a JSON value; empty cells are left out."""
    made: dict[str, Any] = {}
    for constant in mapping.constants:
        _put(made, constant.field, _measured(constant.field, constant.value, constant.unit))
    for one in mapping.columns:
        text = row.get(one.column, "").strip()
        if not text:
            continue
        if mapping.decimal == ",":
            text = _with_point(one, text)
        if one.field in _DATES:
            text = _iso(text, mapping.date_order)
        _put(made, one.field, _measured(one.field, text, one.unit))
    return {name: _with_lists(inner) for name, inner in made.items()}


def _with_point(column: Column, text: str) -> str:
    """A number with a comma as records write it; one with a point is spoilt so that it is refused.

    Where the comma was agreed, "1.070" may be a thousand and seventy, and nobody can tell.
    """
    if _WITH_COMMA.fullmatch(text):
        return text.replace(",", ".")
    a_number = column.unit is not None or column.field in _NUMBERS
    return f"{text} with a point" if a_number and "." in text else text


def _pointer(row: Fields) -> str:
    place = row.text("field")
    if place and not _POINTER.fullmatch(place):
        row.note("field", "bad_pointer", f"{place[:40]!r} is no place of a record, as /date is")
    return place


def _unit(row: Fields) -> str | None:
    return row.choice("unit", tuple(UNITS), "psi") if row.given("unit") else None


def _measured(place: str, text: str, unit: str | None) -> object:
    return {"value": text, "unit": unit} if unit else _plain(place, text)


def _with_lists(value: object) -> object:
    """The value with each object whose names are all numbers made a list, in their order."""
    if not isinstance(value, dict):
        return value
    inner = {name: _with_lists(one) for name, one in value.items()}
    if inner and all(name.isdigit() for name in inner):
        return [inner[name] for name in sorted(inner, key=int)]
    return inner


def _put(made: dict[str, Any], place: str, value: object) -> None:
    *way, last = place.strip("/").split("/")
    for name in way:
        inner = made.setdefault(name, {})
        made = inner if isinstance(inner, dict) else {}
    made[last] = value


def _plain(place: str, text: str) -> str | int:
    whole = place in _WHOLE and text.isascii() and text.isdigit() and len(text) < _LONGEST_WHOLE
    return int(text) if whole else text


def _iso(text: str, order: str) -> str:
    """A date in the order that was agreed, as YYYY-MM-DD; anything else as it is written."""
    found = _DATE.fullmatch(text)
    if not found:
        return text
    parts = dict(zip(order, found.groups(), strict=True))
    if len(parts["Y"]) != _YEAR_DIGITS:
        return text
    return f"{parts['Y']}-{parts['M']:0>2}-{parts['D']:0>2}"
