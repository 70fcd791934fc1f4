"""GET /api/v1/: where everything is."""

from django.http import HttpResponse
from rest_framework.request import Request

from api.v1 import answers, paging
from api.v1.body_shapes import Schema, shape
from api.v1.described import described
from api.v1.view import OpenView

RESOURCES = (
    "cylinders",
    "consignments",
    "test-records",
    "calibrations",
    "inspections",
    "dryings",
    "result-batches",
    "events",
    "webhooks",
)
#: resources without a list, and what picks one of them
ONE_BY_ONE = {"file-mappings": "name", "daily-logs": "day"}
_WORD: Schema = {"type": "string"}
INDEX: Schema = shape(
    {
        "name": _WORD,
        "schema": _WORD,
        "problems": _WORD,
        "resources": {"type": "object", "additionalProperties": _WORD},
    },
    description="Addresses; each resource needs a key.",
)


class Index(OpenView):
    """The way in."""

    @described(name="read_index", answers={200: INDEX}, open_to_all=True)
    def get(self, request: Request) -> HttpResponse:
        """Read where the schema, the pages about problems and the resources are."""
        paging.no_query(request)
        members = {
            "name": "The labs' interface, version 1",
            "schema": "/api/v1/schema",
            "problems": "/problems/",
            "resources": {name: f"/api/v1/{name}" for name in RESOURCES}
            | {name: f"/api/v1/{name}/{{{what}}}" for name, what in ONE_BY_ONE.items()},
        }
        return answers.of(members).response()
