"""What a person answered about a stamp with more than one reading, put into the markings.

The stamp's text stays as it was typed; an answer fills the field that the question was about. A
question that is not listed here is answered in the field itself.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date

from cylinders.facts import Markings
from cylinders.facts.stamped import markings_of
from cylinders.rules.markings import Question, read
from cylinders.rules.wording import say

NONE = (say("none of these"), "nothing")
_PRESSURE = re.compile(r"(?:service pressure )?([0-9]+(?:\.[0-9]+)?) (psi|bar)", re.ASCII)
_PERMIT = re.compile(r"permit ([0-9]+), ([0-9]+) psi", re.ASCII)
_MONTH = re.compile(r"([0-9]{4}-[0-9]{2})\b.*", re.ASCII)
_TOKEN = re.compile(r"(serial number|[a-z' ]+ mark|[a-z ]+) (\S+)", re.ASCII)


def apply(markings: Markings, question: Question, choice: str, *, on: date) -> Markings:
    """``markings`` with ``choice`` in its place; unchanged where the choice is none of them."""
    if choice not in question.choices or choice in NONE:
        return markings
    answer = _ANSWERS.get(question.code) or _prefixed(question.code)
    return answer(markings, choice, on) if answer else markings


def _thread(markings: Markings, choice: str, _on: date) -> Markings:
    return replace(markings, neck_thread=choice)


def _pressure(markings: Markings, choice: str, on: date) -> Markings:
    found = _PRESSURE.fullmatch(choice)
    if found:
        return replace(markings, service_pressure=found[1], pressure_unit=found[2])
    return _serial_or(markings, choice, on)


def _figure(markings: Markings, choice: str, _on: date) -> Markings:
    return replace(markings, service_pressure=choice) if choice.isdigit() else markings


def _month(markings: Markings, choice: str, _on: date) -> Markings:
    found = _MONTH.fullmatch(choice)
    # Without a lab's number a date is no requalification; it can only be the first test.
    if found and not markings.first_test:
        return replace(markings, first_test=found[1])
    return markings


def _serial(markings: Markings, choice: str, _on: date) -> Markings:
    return replace(markings, serial=choice)


def _serial_or(markings: Markings, choice: str, _on: date) -> Markings:
    found = _TOKEN.fullmatch(choice)
    if found and found[1] == "serial number":
        return replace(markings, serial=found[2])
    if found and "manufacturer" in found[1]:
        return replace(markings, manufacturer_mark=found[2])
    return markings


def _mark(markings: Markings, choice: str, on: date) -> Markings:
    """A specification mark, read by itself."""
    bare = choice.partition(" (")[0]
    chosen = markings_of(read(bare, on=on))
    if not chosen.specification:
        return markings
    return replace(
        markings,
        authority=chosen.authority,
        specification=chosen.specification,
        permit=chosen.permit,
        service_pressure=chosen.service_pressure,
        pressure_unit=chosen.pressure_unit,
        material=chosen.material,
    )


def _permit(markings: Markings, choice: str, _on: date) -> Markings:
    found = _PERMIT.fullmatch(choice)
    if not found:
        return markings
    return replace(markings, permit=found[1], service_pressure=found[2], pressure_unit="psi")


_Answer = Callable[[Markings, str, date], Markings]
_ANSWERS: dict[str, _Answer] = {
    "thread": _thread,
    "two_threads": _thread,
    "pressure_unit": _pressure,
    "pressure_or_serial": _pressure,
    "pressure_figure": _figure,
    "date_order": _month,
    "serial_not_in_place": _serial,
    "look_alike": _mark,
    "no_authority": _mark,
    "metric_on_us_mark": _mark,
    "metric_letter_missing": _mark,
    "permit_and_pressure": _permit,
}


def _prefixed(code: str) -> _Answer | None:
    return _serial_or if code.startswith("serial_or_") else None
