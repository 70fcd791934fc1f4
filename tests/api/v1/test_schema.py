"""The published schema tells what the routes do, no more and no less."""

import json
import re
from itertools import count
from typing import Any

import jsonschema_rs
import pytest
import schemathesis
from django.core.wsgi import get_wsgi_application
from django.urls import URLPattern
from hypothesis import HealthCheck, given, settings
from schemathesis.core.result import Ok

from api import at_the_lab
from api.problems import PROBLEMS
from api.v1 import schema, urls
from api.v1.view import Nothing
from cylinders.models import Cylinder
from cylinders.rules.judgement import UnusableBody, loads, parse
from tests.api.v1.lab import body, make_lab_client, order_at
from tests.api.v1.test_bad_bodies import WRONG_SHAPES, changed

METHODS = {"get", "post", "put", "patch", "delete"}


def document() -> dict[str, Any]:
    made: dict[str, Any] = json.loads(schema.text())
    return made


def body_validator() -> Any:
    components = {"components": document()["components"]}
    return jsonschema_rs.validator_for({"$ref": "#/components/schemas/TestBody"} | components)


def test_every_route_is_in_the_schema_with_its_methods_and_nothing_else_is() -> None:
    told = {
        path.removeprefix("/api/v1/"): METHODS & set(operations)
        for path, operations in document()["paths"].items()
    }
    served = {}
    for pattern in urls.urlpatterns:
        assert isinstance(pattern, URLPattern)
        view = pattern.callback.cls  # type: ignore[attr-defined] # set by as_view
        if view is not Nothing:
            route = re.sub(r"<\w+:(\w+)>", r"{\1}", str(pattern.pattern))
            served[route] = {name for name in METHODS if hasattr(view, name)}
    assert told == served


def test_every_operation_has_a_name_a_sentence_and_its_problems() -> None:
    names = set()
    for path, operations in document()["paths"].items():
        for method, operation in operations.items():
            names.add(operation["operationId"])
            assert operation["summary"].endswith("."), (path, method)
            statuses = set(operation["responses"])
            assert {"400", "404", "405", "406", "500"} <= statuses
            if operation["security"]:
                assert {"401", "403", "429", "503"} <= statuses
            if "requestBody" in operation:
                assert {"409", "413", "415", "422"} <= statuses
    assert len(names) == sum(len(operations) for operations in document()["paths"].values())


def test_every_shape_is_valid_json_schema_and_every_reference_leads_somewhere() -> None:
    made = document()
    assert made["openapi"] == "3.1.1"
    for name, shape in made["components"]["schemas"].items():
        assert jsonschema_rs.meta.is_valid(shape), name
    text = json.dumps(made)
    for part in text.split('"$ref": "#/')[1:]:
        place: Any = made
        for step in part.partition('"')[0].split("/"):
            place = place[step]


def test_each_status_of_a_problem_is_described_with_its_codes() -> None:
    for row in PROBLEMS.values():
        says = document()["components"]["responses"][f"Problem{row.status}"]["description"]
        assert f"`{row.code}`" in says


def test_the_schema_takes_what_the_reader_takes() -> None:
    assert body_validator().is_valid(body())


@pytest.mark.parametrize(("pointer", "value"), WRONG_SHAPES)
def test_the_schema_refuses_what_the_reader_refuses(pointer: str, value: object) -> None:
    sent = changed(pointer, value)
    if pointer == "/date" and value in {"2026-11-31", "2027-02-29"}:
        return  # which days a month has is said by the format, which a validator may pass over
    assert not body_validator().is_valid(sent), sent
    if pointer != "/lab_reference":
        with pytest.raises(UnusableBody):
            parse(loads(json.dumps(sent)))


@pytest.mark.django_db(transaction=True)  # the door closes its connection after each request
@pytest.mark.parametrize("named", [False, True], ids=["any cylinder", "one in the lab's hands"])
@pytest.mark.parametrize(
    "examples", [1, pytest.param(60, marks=pytest.mark.long)], ids=["few", "many"]
)
def test_generated_requests_get_what_the_schema_promises(
    monkeypatch: pytest.MonkeyPatch, *, named: bool, examples: int
) -> None:
    program = make_lab_client()
    order_at(program.lab)
    if named:  # so that generated readings reach the judgement
        cylinder = Cylinder.objects.get()
        monkeypatch.setattr(at_the_lab, "named", lambda **_: cylinder)
    application = get_wsgi_application()
    loaded = schemathesis.openapi.from_wsgi("/api/v1/schema", application)
    headers = {"Authorization": f"Bearer {program.key}"}
    seen, fresh = {"GET /api/v1/schema"}, count(1)  # the first was asked for a moment ago
    for result in loaded.get_all_operations():
        assert isinstance(result, Ok)
        operation = result.ok()

        @given(case=operation.as_strategy())
        @settings(
            max_examples=examples,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        )
        def conforms(case: schemathesis.Case[Any]) -> None:
            # A check of the day names no cylinder, so it is stored: its key may not come again.
            if case.headers and (named or "calibrations" in case.operation.path):
                case.headers["Idempotency-Key"] = str(next(fresh))
            case.call_and_validate(headers=headers)

        conforms()
        seen.add(operation.label)
    told = document()["paths"].items()
    assert seen == {f"{name.upper()} {path}" for path, names in told for name in names}
