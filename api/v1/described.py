"""How a view says what the schema tells of it: name, parameters, body, answers, problems."""

from collections.abc import Callable, Collection, Mapping
from http import HTTPStatus
from typing import Any, TypeVar

from drf_spectacular.utils import extend_schema

from api import problems
from api.v1 import answers
from api.v1.body_shapes import Schema, ref

F = TypeVar("F", bound=Callable[..., Any])

#: What any request with a key may meet.
_ALWAYS = (400, 401, 403, 404, 405, 406, 429, 500, 503)
#: What a request with a body may meet besides.
_WITH_BODY = (409, 413, 415, 422)
_OPEN = (400, 404, 405, 406, 500)
_REQUEST_ID = {"X-Request-Id": {"$ref": "#/components/headers/RequestId"}}


def described(
    *,
    name: str,
    answers: Mapping[int, Schema],
    answered_as: Collection[str] = (answers.MEDIA_TYPE,),
    parameters: Collection[Mapping[str, Any]] = (),
    bodies: Mapping[str, Schema] | None = None,
    open_to_all: bool = False,
    more_problems: Collection[int] = (),
    more: str = "",
) -> Callable[[F], F]:
    """Describe one method of a view; its docstring, and ``more``, are the description."""

    def decorate(method: F) -> F:
        statuses = {*(_OPEN if open_to_all else _ALWAYS), *(_WITH_BODY if bodies else ())}
        summary, _blank, rest = (method.__doc__ or "").strip().partition("\n\n")
        operation: dict[str, Any] = {
            "operationId": name,
            "summary": summary,
            "description": " ".join(f"{rest} {more}".split()),
            "parameters": [*parameters],
            "responses": {
                **{
                    str(status): _answer(status, schema, answered_as)
                    for status, schema in answers.items()
                },
                **{str(status): _problem(status) for status in sorted(statuses | {*more_problems})},
            },
            "security": [] if open_to_all else [{"lab_key": []}],
        }
        if bodies:
            content = {media_type: {"schema": schema} for media_type, schema in bodies.items()}
            operation["requestBody"] = {"required": True, "content": content}
        return extend_schema(operation=operation)(method)

    return decorate


def headers() -> dict[str, Any]:
    """The headers that stand among the components."""
    says = "The id under which the request stands in the logs; yours, if you sent one."
    return {"RequestId": {"description": says, "schema": {"type": "string"}}}


def responses() -> dict[str, Any]:
    """The problem answers that stand among the components, one for each status."""
    statuses = sorted({row.status for row in problems.PROBLEMS.values()})
    return {f"Problem{status}": _problem_response(status) for status in statuses}


def _answer(status: int, schema: Schema, answered_as: Collection[str]) -> dict[str, Any]:
    return {
        "description": HTTPStatus(status).phrase,
        "headers": _REQUEST_ID,
        "content": {media_type: {"schema": schema} for media_type in answered_as},
    }


def _problem(status: int) -> dict[str, str]:
    return {"$ref": f"#/components/responses/Problem{status}"}


def _problem_response(status: int) -> dict[str, Any]:
    codes = [row for row in problems.PROBLEMS.values() if row.status == status]
    return {
        "description": " ".join(f"`{row.code}`: {row.title}." for row in codes),
        "headers": _REQUEST_ID,
        "content": {problems.MEDIA_TYPE: {"schema": ref("Problem")}},
    }
