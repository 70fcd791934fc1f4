"""What the addresses to call look like, as JSON Schema."""

from api.models import WebhookCall
from api.v1 import paging
from api.v1.body_shapes import Schema, or_null, ref, shape, words
from api.webhooks import addresses
from cylinders.queries import lab_events

_WORD: Schema = {"type": "string"}
_MOMENT: Schema = {"type": "string", "format": "date-time"}
_COUNT: Schema = {"type": "integer", "minimum": 0}
_TYPES: Schema = {
    "type": "array",
    "items": words(*lab_events.TYPES),
    "uniqueItems": True,
    "maxItems": len(lab_events.TYPES),
}
_WEBHOOK: dict[str, Schema] = {
    "webhook": _COUNT,
    "url": _WORD,
    "types": {"type": "array", "items": words(*lab_events.TYPES)},
    "made_at": _MOMENT,
    "failing_since": or_null(_MOMENT),
    "stopped_at": or_null(_MOMENT),
    "stopped_why": or_null(_WORD),
    "calls": _WORD,
}
SHAPES: dict[str, Schema] = {
    "NewWebhook": shape(
        {
            "url": {
                "type": "string",
                "maxLength": addresses.LONGEST,
                "pattern": addresses.FORM,
                "description": "https on port 443, by a full name that leads to public addresses.",
            },
            "types": _TYPES,
        },
        description="An empty list of types asks for all.",
    ),
    "Webhook": shape(_WEBHOOK),
    "FreshWebhook": shape(
        _WEBHOOK | {"secret": _WORD},
        description="The secret signs each call (Standard Webhooks); it is shown this once.",
    ),
    "WebhookCall": shape(
        {
            "place": _COUNT,
            "id": _WORD,
            "type": words(*lab_events.TYPES),
            "state": words(*WebhookCall.State.values),
            "tries": _COUNT,
            "answered": or_null(_WORD),
            "next_at": or_null(_MOMENT),
            "settled_at": or_null(_MOMENT),
        },
    ),
}
_NUMBER: Schema = {"type": "integer", "minimum": 1, "maximum": paging.LAST_PLACE}
NUMBER: Schema = {"name": "number", "in": "path", "required": True, "schema": _NUMBER}
PLACE: Schema = {
    "name": "place",
    "in": "path",
    "required": True,
    "description": "The place of the event, as `events` numbers it.",
    "schema": _NUMBER,
}
WEBHOOK, FRESH, NEW, CALL = (
    ref(name) for name in ("Webhook", "FreshWebhook", "NewWebhook", "WebhookCall")
)
