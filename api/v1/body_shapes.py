"""The body of a test record as JSON Schema (2020-12), the shape that `judgement.parse` reads.

Written by hand, because a lab's developer reads it: what is refused for its shape is refused here
in the same words. ``tests/api/v1/test_schema.py`` holds it against the reader, both ways.
"""

from typing import Any, TypeAlias, get_args

from cylinders.rules.cylinder_facts import Service
from cylinders.rules.judgement.body import Disposition, Method
from cylinders.rules.quantity import UNITS

Schema: TypeAlias = dict[str, Any]

#: An address of its own must be able to hold the reference, without any escaping.
REFERENCE = r"^[A-Za-z0-9][A-Za-z0-9._:-]{0,79}$"
_DAY = r"^(?:19|2[0-8])[0-9]{2}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])$"
_MONTH = r"^(?:18[5-9][0-9]|19[0-9]{2}|2[0-8][0-9]{2})-(?:0[1-9]|1[0-2])$"
_DECIMAL = r"^[+-]?[0-9]{1,18}(?:\.[0-9]{1,18})?$"
_POSITIVE = r"^[+]?(?=[0-9.]*[1-9])[0-9]{1,18}(?:\.[0-9]{1,18})?$"
#: No blank at either end; no control, format, surrogate, private or unassigned character.
_MARKS = r"\u0300-\u036f\u0483-\u0489\u1dc0-\u1dff\u20d0-\u20f0"  # accents that follow a letter
_SEEN = rf"\p{{L}}\p{{N}}\p{{P}}\p{{S}}{_MARKS}"
_BLANK = r" \u00a0\u1680\u2000-\u200a\u202f\u205f\u3000"
_TEXT = rf"^[{_SEEN}](?:[{_SEEN}{_BLANK}]*[{_SEEN}])?$"
_REMARK = rf"^[{_SEEN}{_BLANK}\t\n\r]*$"
_LEAST, _MOST, _MOST_WHOLE = 1e-9, 1e15, 10**18 - 1


def ref(name: str) -> Schema:
    """A reference to a named shape."""
    return {"$ref": f"#/components/schemas/{name}"}


def shape(properties: dict[str, Schema], *, optional: tuple[str, ...] = (), **more: Any) -> Schema:
    """An object that holds these fields and no other."""
    required = [name for name in properties if name not in optional]
    return {
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
        **more,
    }


def or_null(schema: Schema) -> Schema:
    """The shape, or null for "not measured" or "not known"."""
    return {"anyOf": [schema, {"type": "null"}]}


def words(*options: str) -> Schema:
    """One of these words."""
    return {"type": "string", "enum": list(options)}


def text(most: int = 80, **more: Any) -> Schema:
    """Text that must not be empty."""
    return {"type": "string", "minLength": 1, "maxLength": most, "pattern": _TEXT, **more}


def remark(most: int = 2000) -> Schema:
    """Free text, possibly empty, or null."""
    return or_null({"type": "string", "maxLength": most, "pattern": _REMARK})


def number(*, positive: bool) -> Schema:
    """A JSON number or decimal text; both are read as decimals, never as binary fractions."""
    plus = {"type": "number", "minimum": _LEAST, "maximum": _MOST}
    if positive:
        whole = {"type": "integer", "minimum": 1, "maximum": _MOST_WHOLE}
        return {"anyOf": [plus, whole, {"type": "string", "pattern": _POSITIVE}]}
    minus = {"type": "number", "minimum": -_MOST, "maximum": -_LEAST}
    whole = {"type": "integer", "minimum": -_MOST_WHOLE, "maximum": _MOST_WHOLE}
    return {"anyOf": [plus, whole, minus, {"type": "string", "pattern": _DECIMAL}]}


def _quantity(dimension: str, *, positive: bool = False) -> Schema:
    units = [unit for unit, (kind, _factor) in UNITS.items() if kind == dimension]
    return shape({"value": number(positive=positive), "unit": words(*units)})


DAY: Schema = {"type": "string", "format": "date", "pattern": _DAY}
MONTH: Schema = {"type": "string", "pattern": _MONTH, "examples": ["2008-06"]}
_PASS_FAIL = words("pass", "fail")
_LOOK = words("pass", "fail", "not_done")

PARTS: dict[str, Schema] = {
    "Pressure": _quantity("pressure"),
    "Volume": _quantity("volume"),
    "Temperature": _quantity("temperature"),
    "PressureAboveZero": _quantity("pressure", positive=True),
    "VolumeAboveZero": _quantity("volume", positive=True),
    "LengthAboveZero": _quantity("length", positive=True),
    "NamedCylinder": shape(
        {
            "serial": text(),
            "manufacturer_mark": text(),
            "tag": or_null(text()),
            "authority": or_null(text(12)),
            "specification": or_null(text(24)),
            "permit": or_null(text(24)),
            "service_pressure": or_null(ref("PressureAboveZero")),
            "water_capacity": or_null(ref("VolumeAboveZero")),
            "outside_diameter": or_null(ref("LengthAboveZero")),
            "alloy": or_null(text(24)),
            "first_test": or_null(MONTH),
        },
        optional=(
            "tag",
            "authority",
            "specification",
            "permit",
            "service_pressure",
            "water_capacity",
            "outside_diameter",
            "alloy",
            "first_test",
        ),
        description="The tag names the cylinder; without one, authority, specification, serial and "
        "manufacturer's mark must fit exactly one cylinder in your hands.",
    ),
    "Calibration": shape(
        {
            "cylinder_serial": text(),
            "date": DAY,
            "points": {
                "type": "array",
                "minItems": 1,
                "maxItems": 50,
                "items": shape({"pressure": ref("Pressure"), "expansion": ref("Volume")}),
            },
            "observed": shape(
                {
                    "pressure": ref("Pressure"),
                    "expansion": ref("Volume"),
                    "permanent": ref("Volume"),
                },
            ),
        },
        description="The check of the day with a calibrated cylinder.",
    ),
    "Visual": shape(
        {"internal": _LOOK, "external": _LOOK, "standard": remark(80), "notes": remark()},
        optional=("standard", "notes"),
    ),
    "EddyCurrent": shape(
        {
            "result": _PASS_FAIL,
            "crack_thread_lengths": {
                "anyOf": [number(positive=True), {"const": 0}, {"const": "0"}],
            },
            "equipment": remark(200),
            "reference_ring": remark(200),
        },
        optional=("equipment", "reference_ring"),
    ),
    "ThreadInspection": shape(
        {"result": _PASS_FAIL, "method": remark(80), "notes": remark()},
        optional=("method", "notes"),
    ),
    "Drying": shape(
        {"method": text(), "temperature": or_null(ref("Temperature"))},
        optional=("temperature",),
    ),
    "Stamp": shape(
        {
            "month": {"type": "integer", "minimum": 1, "maximum": 12},
            "year": {"type": "integer", "minimum": 1900, "maximum": 2999},
            "symbol": remark(8),
        },
        optional=("symbol",),
    ),
    "Water": shape({"forced_in": ref("VolumeAboveZero"), "temperature": ref("Temperature")}),
    "Gauge": shape(
        {
            "full_scale": ref("PressureAboveZero"),
            "accuracy_percent": number(positive=True),
            "division": or_null(ref("PressureAboveZero")),
            "kind": words("dial", "digital"),
        },
        optional=("division",),
    ),
}

_ALWAYS: dict[str, Schema] = {
    "lab_reference": {"type": "string", "pattern": REFERENCE, "examples": ["NG-2026-0417"]},
    "cylinder": ref("NamedCylinder"),
    "date": DAY,
    "method": words(*get_args(Method)),
    "test_pressure": ref("Pressure"),
    "hold_seconds": number(positive=False),
    "visual": ref("Visual"),
    "use": words(*(service.value for service in Service)),
    "disposition": words(*get_args(Disposition)),
    "operator": text(),
    "rin": text(),
}
_PERCENT: Schema = {
    "anyOf": [
        {"type": "number", "minimum": _LEAST, "maximum": 100},
        {"type": "string", "pattern": _POSITIVE[:-1].replace("{1,18}(?:", "{1,2}(?:") + "$"},
    ],
}
_SOMETIMES: dict[str, Schema] = {
    "total_expansion": or_null(ref("Volume")),
    "permanent_expansion": or_null(ref("Volume")),
    "elastic_expansion": or_null(ref("Volume")),
    "ree": or_null(ref("VolumeAboveZero")),
    "limit_percent": or_null(_PERCENT),
    "required_test_pressure": or_null(ref("PressureAboveZero")),
    "reading_increment": or_null(ref("VolumeAboveZero")),
    "calibration": or_null(ref("Calibration")),
    "eddy_current": or_null(ref("EddyCurrent")),
    "thread_inspection": or_null(ref("ThreadInspection")),
    "drying": or_null(ref("Drying")),
    "heat_exposure_c": or_null(number(positive=False)),
    "reason": remark(),
    "repeat_of": or_null(text()),
    "stamp": or_null(ref("Stamp")),
    "water": or_null(ref("Water")),
    "gauge": or_null(ref("Gauge")),
    "system_check_pressure": or_null(ref("PressureAboveZero")),
    "daily_check": or_null(text(description="Your reference of the check of the day.")),
    "apparatus": or_null(text(description="The chamber that was used.")),
    "fills": or_null({"type": "integer", "minimum": 0, "maximum": 1_000_000}),
}
TEST_BODY = shape(
    _ALWAYS | _SOMETIMES,
    optional=tuple(_SOMETIMES),
    description="One requalification (49 CFR 180.215(b)). Both expansions are needed unless the "
    "method is proof_pressure. Numbers are JSON numbers or decimal text.",
    anyOf=[
        {"properties": {"method": {"const": "proof_pressure"}}},
        {
            "properties": {
                "total_expansion": ref("Volume"),
                "permanent_expansion": ref("Volume"),
            },
            "required": ["total_expansion", "permanent_expansion"],
        },
    ],
)
