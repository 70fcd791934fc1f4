"""GET /api/v1/schema: the whole interface as OpenAPI 3.1, made from the routes themselves."""

import json
from collections.abc import Mapping, Sequence
from functools import cache
from threading import Lock
from typing import Any

from django.http import HttpResponse
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.settings import patched_settings
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request

from api.v1 import described, paging, shapes
from api.v1.view import OpenView

MEDIA_TYPE = "application/vnd.oai.openapi+json"
_ONE_AT_A_TIME = Lock()
_SETTINGS = {
    "TITLE": "Cylinder service: the labs' interface",
    "VERSION": "1",
    "OAS_VERSION": "3.1.1",
    "DESCRIPTION": "A retest lab lists the cylinders in its hands and posts what it measured. Each "
    "record is judged again on arrival; what contradicts itself is held for a person. Problems "
    "are RFC 9457 documents. Nothing that was posted is ever edited.",
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "POSTPROCESSING_HOOKS": ["api.v1.schema.with_components"],
    "ENABLE_DJANGO_DEPLOY_CHECK": False,
}


class OpenAPIRenderer(JSONRenderer):
    """The media type of an OpenAPI document; plain JSON is given to whoever asks for that."""

    media_type = MEDIA_TYPE
    format = "openapi"


class SchemaDocument(OpenView):
    """The schema."""

    renderer_classes: Sequence[type[BaseRenderer]] = (OpenAPIRenderer, JSONRenderer)

    @described.described(
        name="read_schema",
        answers={200: {"type": "object"}},
        open_to_all=True,
    )
    def get(self, request: Request) -> HttpResponse:
        """Read this schema.

        Open to everybody: it tells how to ask, not what is there.
        """
        paging.no_query(request)
        return HttpResponse(text(), content_type=request.accepted_media_type)


@cache
def text() -> str:
    """The schema as JSON text; made once in the life of a process."""
    return json.dumps(document(), ensure_ascii=False)


def document() -> dict[str, Any]:
    """The schema, made from the routes under /api/v1."""
    with _ONE_AT_A_TIME, patched_settings(_SETTINGS):
        generator: Any = SchemaGenerator()  # type: ignore[no-untyped-call] # it has no types
        made: dict[str, Any] = generator.get_schema(request=None, public=True)
    return made


def with_components(result: dict[str, Any], **_more: Mapping[str, Any]) -> dict[str, Any]:
    """Add the named shapes, the problem answers and the scheme of the key."""
    components = result.setdefault("components", {})
    components["schemas"] = shapes.SHAPES
    components["responses"] = described.responses()
    components["headers"] = described.headers()
    key = {"type": "http", "scheme": "bearer", "bearerFormat": "prefix.secret"}
    components["securitySchemes"] = {"lab_key": key}
    return result
