"""Papers to a record, as JSON Schema."""

from api import papers
from api.v1 import paging
from api.v1.body_shapes import Schema, shape, words
from cylinders.models import Shows
from cylinders.operations.papers import OF_A_PAPER

#: Bytes as they are, of the media type beside which this stands.
BYTES: Schema = {"type": "string", "format": "binary"}
SHAPES: dict[str, Schema] = {
    "Attachment": shape(
        {
            "attachment": {"type": "integer", "minimum": 1},
            "sha256": {"type": "string", "pattern": "^[0-9a-f]{64}$"},
            "media_type": words(*papers.MEDIA_TYPES),
            "size": {"type": "integer", "minimum": 1, "maximum": papers.MOST_BYTES},
            "shows": words(*(one.value for one in OF_A_PAPER)),
            "received_at": {"type": "string", "format": "date-time"},
            "content": {"type": "string", "format": "uri-reference"},
        },
        description="`sha256` is that of the bytes as they were sent; `content` is their address.",
    ),
}
SHOWS: Schema = {
    "name": "shows",
    "in": "query",
    "description": "What the paper shows.",
    "schema": words(*(one.value for one in OF_A_PAPER)) | {"default": Shows.OTHER.value},
}
NUMBER: Schema = {
    "name": "number",
    "in": "path",
    "required": True,
    "schema": {"type": "integer", "minimum": 1, "maximum": paging.LAST_PLACE},
}
