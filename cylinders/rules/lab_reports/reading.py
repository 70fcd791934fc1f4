"""From a JSON value to a report, strictly: every problem at once, nothing guessed."""

import datetime as dt
import re
from collections.abc import Callable, Mapping
from typing import get_args

from cylinders.rules.judgement.body import PassFail
from cylinders.rules.judgement.parsing import gauge, named_cylinder, observed, point
from cylinders.rules.judgement.problem import Problem, UnusableBody
from cylinders.rules.judgement.reader import Fields
from cylinders.rules.lab_reports.bodies import (
    Body,
    CalibrationBody,
    DryingBody,
    Gate,
    InspectionBody,
    ReportKind,
)
from cylinders.rules.quantity import Quantity
from cylinders.rules.wording import say

#: An address of its own must be able to hold the reference, without any escaping.
REFERENCE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._:-]{0,79}", re.ASCII)
_TIME = re.compile(r"(?:[01][0-9]|2[0-3]):[0-5][0-9]", re.ASCII)
MOST_POINTS, MOST_READINGS = 50, 20
_PASS_FAIL: tuple[PassFail, ...] = get_args(PassFail)
_LONG = 200


def read(kind: ReportKind, value: object) -> Body:
    """The report that a JSON value is; raises ``UnusableBody`` with every place that is wrong."""
    problems: list[Problem] = []
    if value is None:
        raise UnusableBody([Problem("", "wrong_type", say("null is not an object"))])
    fields = Fields(value, "", problems)
    body = _READERS[kind](fields)
    fields.close()
    if problems:
        raise UnusableBody(problems)
    return body


def _reference(fields: Fields) -> str:
    text = fields.text("lab_reference")
    if text and not REFERENCE.fullmatch(text):
        says = say("begins with a letter or digit; then letters, digits and . _ : - only")
        fields.note("lab_reference", "bad_text", says)
    return text


def _calibration(fields: Fields) -> CalibrationBody:
    certificate = fields.child("certificate")
    serial, reach, increment = _expansion_device(fields)
    body = CalibrationBody(
        lab_reference=_reference(fields),
        date=fields.day("date"),
        time=_time(fields),
        apparatus=fields.text("apparatus"),
        cylinder_serial=fields.text("cylinder_serial"),
        certificate=certificate.text("number"),
        certified_on=certificate.day("date"),
        points=tuple(point(row) for row in certificate.children("points", most=MOST_POINTS)),
        readings=tuple(observed(row) for row in fields.children("readings", most=MOST_READINGS)),
        gauge=gauge(fields),
        gauge_serial=fields.remark("gauge_serial", most=80),
        expansion_serial=serial,
        expansion_range=reach,
        expansion_increment=increment,
        operator=fields.text("operator"),
        notes=fields.remark("notes"),
    )
    certificate.close()
    return body


def _expansion_device(parent: Fields) -> tuple[str, Quantity | None, Quantity | None]:
    """Serial, range and smallest division of what the expansion is read on."""
    if not parent.given("expansion_device"):
        return "", None, None
    fields = parent.child("expansion_device")
    found = (
        fields.remark("serial", most=80),
        fields.optional_quantity("range", "volume", positive=True),
        fields.optional_quantity("increment", "volume", positive=True),
    )
    fields.close()
    return found


def _time(fields: Fields) -> dt.time:
    text = fields.text("time", most=5)
    if not _TIME.fullmatch(text):
        if text:
            fields.note("time", "bad_time", say("{text!r} is no time; give HH:MM", text=text[:20]))
        return dt.time()
    return dt.time.fromisoformat(text)


def _inspection(fields: Fields) -> InspectionBody:
    gate = fields.choice("gate", tuple(Gate), Gate.INSIDE)
    crack = fields.optional_number("crack_thread_lengths")
    if crack is not None and crack < 0:
        fields.note(
            "crack_thread_lengths", "out_of_range", say("{crack} is below zero", crack=crack)
        )
    if gate is Gate.EDDY_CURRENT and crack is None:
        says = say("is missing; give 0 where no crack was found")
        fields.note("crack_thread_lengths", "missing", says)
    if gate is not Gate.EDDY_CURRENT and crack is not None:
        says = say("goes with an eddy current examination only")
        fields.note("crack_thread_lengths", "not_here", says)
    return InspectionBody(
        lab_reference=_reference(fields),
        cylinder=named_cylinder(fields.child("cylinder")),
        date=fields.day("date"),
        gate=gate,
        result=fields.choice("result", _PASS_FAIL, "fail"),
        crack_thread_lengths=crack,
        standard=fields.remark("standard", most=80),
        method=fields.remark("method", most=80),
        equipment=fields.remark("equipment", most=_LONG),
        reference_ring=fields.remark("reference_ring", most=_LONG),
        operator=fields.text("operator"),
        notes=fields.remark("notes"),
    )


def _drying(fields: Fields) -> DryingBody:
    minutes = fields.optional_number("minutes")
    if minutes is not None and minutes < 0:
        says = say("{minutes} is below zero", minutes=minutes)
        fields.note("minutes", "out_of_range", says)
    return DryingBody(
        lab_reference=_reference(fields),
        cylinder=named_cylinder(fields.child("cylinder")),
        date=fields.day("date"),
        method=fields.text("method"),
        temperature=fields.optional_quantity("temperature", "temperature"),
        minutes=minutes,
        operator=fields.text("operator"),
        notes=fields.remark("notes"),
    )


_READERS: Mapping[ReportKind, Callable[[Fields], Body]] = {
    ReportKind.CALIBRATION: _calibration,
    ReportKind.INSPECTION: _inspection,
    ReportKind.DRYING: _drying,
}
