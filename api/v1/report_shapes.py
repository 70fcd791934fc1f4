"""What a lab reports beside its records, as JSON Schema: checks of the day, inspections, drying."""

from api.v1 import body_shapes
from api.v1.body_shapes import DAY, Schema, or_null, ref, remark, shape, text, words
from cylinders.models import ReportState
from cylinders.queries.test_log import FIELDS
from cylinders.rules.lab_reports import reading
from cylinders.rules.lab_reports.bodies import Came, Gate

_WORD: Schema = {"type": "string"}
_MOMENT: Schema = {"type": "string", "format": "date-time"}
_REFERENCE: Schema = {"type": "string", "pattern": body_shapes.REFERENCE}
_PLUS: Schema = body_shapes.number(positive=True)
_NOT_BELOW_ZERO: Schema = {"anyOf": [_PLUS, {"const": 0}, {"const": "0"}]}
_POINT = shape({"pressure": ref("Pressure"), "expansion": ref("Volume")})
_READING = shape(
    {"pressure": ref("Pressure"), "expansion": ref("Volume"), "permanent": ref("Volume")}
)
_CALIBRATION = shape(
    {
        "lab_reference": _REFERENCE,
        "date": DAY,
        "time": {"type": "string", "pattern": "^(?:[01][0-9]|2[0-3]):[0-5][0-9]$"},
        "apparatus": text(description="The chamber; a test record may name it."),
        "cylinder_serial": text(),
        "certificate": shape(
            {
                "number": text(),
                "date": DAY,
                "points": {
                    "type": "array",
                    "minItems": 1,
                    "maxItems": reading.MOST_POINTS,
                    "items": _POINT,
                },
            }
        ),
        "readings": {
            "type": "array",
            "minItems": 1,
            "maxItems": reading.MOST_READINGS,
            "items": _READING,
        },
        "gauge": or_null(ref("Gauge")),
        "gauge_serial": remark(80),
        "expansion_device": or_null(
            shape(
                {
                    "serial": remark(80),
                    "range": or_null(ref("VolumeAboveZero")),
                    "increment": or_null(ref("VolumeAboveZero")),
                },
                optional=("serial", "range", "increment"),
            )
        ),
        "operator": text(),
        "notes": remark(),
    },
    optional=("gauge", "gauge_serial", "expansion_device", "notes"),
    description="One check of an apparatus with a calibrated cylinder, with what it was read on "
    "(49 CFR 180.205(g)(3)-(4), 180.215(b)).",
)
_INSPECTION = shape(
    {
        "lab_reference": _REFERENCE,
        "cylinder": ref("NamedCylinder"),
        "date": DAY,
        "gate": words(*Gate),
        "result": words("pass", "fail"),
        "crack_thread_lengths": or_null(_NOT_BELOW_ZERO),
        "standard": remark(80),
        "method": remark(80),
        "equipment": remark(200),
        "reference_ring": remark(200),
        "operator": text(),
        "notes": remark(),
    },
    optional=(
        *("crack_thread_lengths", "standard", "method"),
        *("equipment", "reference_ring", "notes"),
    ),
    description="A gate before the pressure test (49 CFR 180.205(f), part 180 appendix C).",
    anyOf=[
        {
            "properties": {
                "gate": {"const": Gate.EDDY_CURRENT.value},
                "crack_thread_lengths": _NOT_BELOW_ZERO,
            },
            "required": ["crack_thread_lengths"],
        },
        {
            "properties": {
                "gate": words(*(gate for gate in Gate if gate is not Gate.EDDY_CURRENT)),
                "crack_thread_lengths": {"type": "null"},
            },
        },
    ],
)
_DRYING = shape(
    {
        "lab_reference": _REFERENCE,
        "cylinder": ref("NamedCylinder"),
        "date": DAY,
        "method": text(),
        "temperature": or_null(ref("Temperature")),
        "minutes": or_null(_NOT_BELOW_ZERO),
        "operator": text(),
        "notes": remark(),
    },
    optional=("temperature", "minutes", "notes"),
    description="How a cylinder was dried; the temperature is the hottest that the metal reached.",
)
_REPORT: dict[str, Schema] = {
    "lab_reference": _WORD,
    "came": words(*Came),
    "state": words(*ReportState.values),
    "day": {"type": "string", "format": "date"},
    "received_at": _MOMENT,
    "reasons": {"type": "array", "items": _WORD},
    "checks": {"type": "array", "items": ref("Check")},
    "supersedes": or_null(_WORD),
    "correction_reason": or_null(_WORD),
    "superseded_by": or_null(_WORD),
}
_REASON: Schema = text(2_000)


def _correction(of: str) -> Schema:
    return shape(
        {"reason": _REASON, "report": ref(of)},
        description="`report` has a reference of its own and counts in place of the report in the "
        "address. Either may arrive first.",
    )


SHAPES: dict[str, Schema] = {
    "CalibrationReport": _CALIBRATION,
    "InspectionReport": _INSPECTION,
    "DryingReport": _DRYING,
    "CalibrationReportCorrection": _correction("CalibrationReport"),
    "InspectionReportCorrection": _correction("InspectionReport"),
    "DryingReportCorrection": _correction("DryingReport"),
    "Check": {
        "type": "object",
        "properties": {
            "code": _WORD,
            "outcome": words("ok", "caution", "unknown", "fail"),
            "says": _WORD,
            "cites": _WORD,
        },
        "required": ["code", "outcome", "says", "cites"],
    },
    "Report": shape(
        _REPORT,
        description="What a report comes to by itself. Only one that `passed` and is `standing` "
        "can be leaned on by a test record.",
    ),
    "DailyLog": shape(
        {
            "day": {"type": "string", "format": "date"},
            "rows": {"type": "array", "items": shape(dict.fromkeys(FIELDS, _WORD))},
        },
        description="The fields of 49 CFR 180.215(b); empty where nothing was recorded.",
    ),
    "KeptReport": shape(
        _REPORT | {"body": {"type": "object"}},
        description="The same, with the body as it was sent.",
    ),
}
