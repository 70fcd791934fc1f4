"""Whatever goes wrong below a view leaves as one problem document."""

import logging
import math
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import SuspiciousOperation
from django.db import OperationalError
from django.http import Http404, HttpResponse
from rest_framework import exceptions
from rest_framework.views import set_rollback

from api import problems
from api.logs import request_id
from api.problems import Problem
from api.v1.strict_body import misshapen
from cylinders.rules.judgement import UnusableBody
from cylinders.rules.refusal import Refused

#: The framework's exceptions that a request can cause, and what each means here.
_FRAMEWORK: tuple[tuple[type[Exception], str, str], ...] = (
    (exceptions.MethodNotAllowed, "method_not_allowed", "This address does not know that method."),
    (exceptions.NotAcceptable, "not_acceptable", "Ask for application/json."),
    (exceptions.NotFound, "not_found", "There is nothing at this address for you."),
    (Http404, "not_found", "There is nothing at this address for you."),
)

log = logging.getLogger(__name__)
#: Seconds after which a lab may try again what was only in the way of others.
SOON = "2"


def answer(problem: Problem) -> HttpResponse:
    """The problem as a response."""
    response = HttpResponse(
        problems.text(problem, request_id=request_id.get()),
        content_type=problems.MEDIA_TYPE,
        status=problems.PROBLEMS[problem.code].status,
    )
    for name, value in problem.headers.items():
        response.headers[name] = value
    return response


def handle(error: Exception, context: Mapping[str, Any]) -> HttpResponse:
    """Answer any exception; what nobody foresaw is logged whole and told without detail."""
    set_rollback()
    problem = _foreseen(error)
    if problem is None:
        log.error("a request failed", exc_info=error)
        problem = Problem("internal", "The fault was logged under this request's id.")
    response = answer(problem)
    if isinstance(error, exceptions.MethodNotAllowed):
        response.headers["Allow"] = ", ".join(context["view"].allowed_methods)
    return response


def _foreseen(error: Exception) -> Problem | None:
    """The problem that an exception stands for, or None where it is a fault of ours."""
    match error:
        case Problem():
            found = error
        case UnusableBody():
            found = misshapen(error)
        case Refused():
            found = problems.of_refusal(error)
        case OperationalError():
            log.warning("the database was busy: %s", error)
            says = "Others are writing; nothing was stored. Try again."
            found = Problem("busy", says, headers={"Retry-After": SOON})
        case exceptions.APIException() | Http404():
            found = _of_framework(error)
        case SuspiciousOperation():
            found = Problem("invalid_query", "There are too many parameters to be meant.")
        case _:
            return None
    return found


def _of_framework(error: Exception) -> Problem:
    """The problem that a framework's own exception stands for."""
    if isinstance(error, exceptions.Throttled):
        wait = str(math.ceil(getattr(error, "wait", None) or 1))
        return Problem("throttled", f"Wait {wait} s.", headers={"Retry-After": wait})
    for kind, code, says in _FRAMEWORK:
        if isinstance(error, kind):
            return Problem(code, says)
    return Problem("malformed_json", "The request cannot be read.")
