"""What the interface answers, as JSON Schema, and the names under which the schema lists it all."""

from api.batches import mapping
from api.models import BatchLine
from api.problems import PROBLEMS
from api.v1 import attachment_shapes, body_shapes, paging, report_shapes, webhook_shapes
from api.v1.body_shapes import Schema, or_null, ref, shape, words
from cylinders.models import RecordState
from cylinders.queries import lab_events
from cylinders.rules.quantity import UNITS
from cylinders.rules.verdict import Outcome

_WORD: Schema = {"type": "string"}
_MOMENT: Schema = {"type": "string", "format": "date-time"}
_DAY: Schema = {"type": "string", "format": "date"}
_COUNT: Schema = {"type": "integer", "minimum": 0}
_FAULT: Schema = shape({"pointer": _WORD, "code": _WORD, "detail": _WORD})
_POINTER: Schema = {
    "type": "string",
    "pattern": r"^(?:/(?:[a-z_]{1,40}|[0-9]{1,2})){1,5}$",
    "maxLength": 80,
}
_REASON: Schema = body_shapes.text(2_000)
_MEASURED: Schema = shape({"value": _WORD, "unit": _WORD})
VERDICTS = ("passed", "condemned", "rejected", "invalid", "held")

_JUDGEMENT: dict[str, Schema] = {
    "verdict": words(*VERDICTS),
    "percent_permanent": or_null(_WORD),
    "required_test_pressure": or_null(_MEASURED),
    "elastic_expansion": or_null(_MEASURED),
    "next_due": or_null(_WORD),
    "on": _DAY,
    "reasons": {"type": "array", "items": _WORD},
    "checks": {
        "type": "array",
        "items": {
            "type": "object",
            "properties": {
                "code": _WORD,
                "outcome": words(*(outcome.value for outcome in Outcome)),
                "says": _WORD,
                "cites": _WORD,
            },
            "required": ["code", "outcome", "says", "cites"],
        },
    },
}
_RECORD: dict[str, Schema] = {
    "lab_reference": _WORD,
    "state": words(*RecordState.values),
    "tested_on": _DAY,
    "received_at": _MOMENT,
    "supersedes": or_null(_WORD),
    "correction_reason": or_null(_WORD),
    "superseded_by": or_null(_WORD),
    "daily_check": or_null(_WORD),
}
SHAPES: dict[str, Schema] = {
    **webhook_shapes.SHAPES,
    **report_shapes.SHAPES,
    **body_shapes.PARTS,
    **attachment_shapes.SHAPES,
    "TestBody": body_shapes.TEST_BODY,
    "TestRecord": {
        "type": "object",
        "description": "How the record was judged, and whether it counts.",
        "properties": _JUDGEMENT | _RECORD,
        "required": [*_JUDGEMENT, *_RECORD],
    },
    "KeptTestRecord": {
        "type": "object",
        "description": "The same, with the body as it was sent.",
        "properties": _JUDGEMENT | _RECORD | {"body": {"type": "object"}},
        "required": [*_JUDGEMENT, *_RECORD, "body"],
    },
    "Correction": shape(
        {"reason": _REASON, "record": ref("TestBody")},
        description="`record` has a reference of its own. It counts in place of the record in the "
        "address, or waits for a person. Either may arrive first.",
    ),
    "Void": shape({"reason": _REASON}),
    "VoidedRecord": shape({"voids": _WORD, "reason": _WORD, "received_at": _MOMENT}),
    "CylinderInHand": shape(
        {
            **{
                name: or_null(_WORD)
                for name in (
                    "tag",
                    "teardown_tag",
                    "authority",
                    "specification",
                    "permit",
                    "serial",
                    "manufacturer_mark",
                    "material",
                    "alloy",
                    "neck_thread",
                    "first_test",
                    "requalified",
                )
            },
            "service_pressure": or_null(_MEASURED),
            "services": {"type": "array", "items": _WORD},
            "consignment": _COUNT,
            "records": {"type": "array", "items": _WORD},
        },
        description="No owner, no address: a lab needs neither.",
    ),
    "Event": shape(
        {
            "place": _COUNT,
            "type": words(*lab_events.TYPES),
            "at": _MOMENT,
            "tag": or_null(_WORD),
            "lab_reference": or_null(_WORD),
            "record": or_null(_WORD),
            "consignment": or_null(_COUNT),
        },
    ),
    "Batch": shape(
        {
            "batch": _COUNT,
            "dry_run": {"type": "boolean"},
            "mode": words("best_effort", "all_or_nothing"),
            "state": words("working", "finished"),
            "total": _COUNT,
            "done": _COUNT,
            "counts": shape(dict.fromkeys(BatchLine.Outcome.values, _COUNT)),
            "received_at": _MOMENT,
            "finished_at": or_null(_MOMENT),
            "lines": _WORD,
        },
    ),
    "BatchLine": shape(
        {
            "line": _COUNT,
            "outcome": words(*BatchLine.Outcome.values),
            "lab_reference": or_null(_WORD),
            "verdict": or_null(words(*VERDICTS)),
            "code": or_null(_WORD),
            "says": _WORD,
            "errors": {"type": "array", "items": _FAULT},
        },
    ),
    "FileMapping": shape(
        {
            "columns": {
                "type": "array",
                "minItems": 1,
                "maxItems": mapping.MOST_COLUMNS,
                "items": shape(
                    {
                        "column": body_shapes.text(),
                        "field": _POINTER,
                        "unit": or_null(words(*UNITS)),
                    },
                    optional=("unit",),
                ),
            },
            "constants": or_null(
                {
                    "type": "array",
                    "minItems": 1,
                    "maxItems": mapping.MOST_COLUMNS,
                    "items": shape(
                        {
                            "field": _POINTER,
                            "value": body_shapes.text(),
                            "unit": or_null(words(*UNITS)),
                        },
                        optional=("unit",),
                    ),
                },
            ),
            "delimiter": words(*mapping.DELIMITERS),
            "encoding": words(*mapping.ENCODINGS),
            "decimal": words(*mapping.DECIMALS),
            "date_order": words(*mapping.ORDERS),
        },
        optional=("constants",),
        description="Which column of your file is which place of a record (a JSON Pointer), in "
        "which unit; `constants` stand in every line. No place is filled twice.",
    ),
    "Consignment": shape(
        {
            "consignment": _COUNT,
            "sent_at": _MOMENT,
            "carrier": _WORD,
            "closed_at": or_null(_MOMENT),
            "cylinders": _COUNT,
            "in_hand": _COUNT,
        },
    ),
    "Problem": {
        "type": "object",
        "description": "RFC 9457. `type` opens a page that says what to do.",
        "properties": {
            "type": {"type": "string", "format": "uri"},
            "title": _WORD,
            "status": {"type": "integer"},
            "detail": _WORD,
            "instance": {"type": "string", "format": "uri-reference"},
            "code": words(*PROBLEMS),
            "cites": _WORD,
            "errors": {
                "type": "array",
                "items": _FAULT,
            },
        },
        "required": ["type", "title", "status", "detail", "instance", "code"],
    },
}


EVENT_PAGE: Schema = shape(
    {
        "items": {"type": "array", "items": ref("Event")},
        "after": _COUNT,
        "next": or_null({"type": "string", "format": "uri"}),
    },
)


def page_of(name: str) -> Schema:
    """A page of a list."""
    next_page = or_null({"type": "string", "format": "uri"})
    return shape({"items": {"type": "array", "items": ref(name)}, "next": next_page})


PAGE_PARAMETERS: tuple[Schema, ...] = (
    {
        "name": "after",
        "in": "query",
        "description": "The place that `next` of the page before names.",
        "schema": {"type": "integer", "minimum": 0, "maximum": paging.LAST_PLACE, "default": 0},
    },
    {
        "name": "limit",
        "in": "query",
        "description": "How many items at most.",
        "schema": {
            "type": "integer",
            "minimum": 1,
            "maximum": paging.MOST,
            "default": paging.DEFAULT_LIMIT,
        },
    },
)
REFERENCE: Schema = {
    "name": "reference",
    "in": "path",
    "required": True,
    "description": "Your own `lab_reference`.",
    "schema": {"type": "string", "pattern": body_shapes.REFERENCE},
}
BATCH_NUMBER: Schema = {
    "name": "number",
    "in": "path",
    "required": True,
    "schema": {"type": "integer", "minimum": 1, "maximum": paging.LAST_PLACE},
}
MAPPING_NAME: Schema = {
    "name": "name",
    "in": "path",
    "required": True,
    "schema": {"type": "string", "pattern": "^[a-z0-9-]{1,40}$"},
}
BATCH_PARAMETERS: tuple[Schema, ...] = (
    {
        "name": "dry_run",
        "in": "query",
        "description": "Tell of every line what would come of it, and store none.",
        "schema": {"type": "string", "enum": ["true", "false"], "default": "false"},
    },
    {
        "name": "mode",
        "in": "query",
        "description": "Whether a bad line keeps the others back; all or none: 2,000 lines.",
        "schema": {
            "type": "string",
            "enum": ["best_effort", "all_or_nothing"],
            "default": "best_effort",
        },
    },
    {
        "name": "mapping",
        "in": "query",
        "description": "The saved mapping by which a CSV or XML file is read.",
        "schema": {"type": "string", "pattern": "^[a-z0-9-]{1,40}$"},
    },
)
IDEMPOTENCY_KEY: Schema = {
    "name": "Idempotency-Key",
    "in": "header",
    "required": True,
    "description": "A fresh random key for each record, the same with each retry; bare, or quoted "
    "as a structured field. The answer is kept for 400 days.",
    "schema": {"type": "string", "pattern": "^[A-Za-z0-9._:-]{1,255}$"},
}
