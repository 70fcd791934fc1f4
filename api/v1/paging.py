"""Lists in pages: ``?after=`` the place of the last item seen, ``?limit=`` how many at most.

A page follows a place, not a number of rows to skip, so nothing is left out or told twice when a
cylinder goes home between two requests. No totals: counting costs more than it tells.
"""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar
from urllib.parse import urlencode

from django.db.models import Model, QuerySet
from django.http import HttpResponse
from rest_framework.request import Request

from api.problems import Fault, Problem
from api.v1 import answers

M = TypeVar("M", bound=Model)

DEFAULT_LIMIT = 50
MOST = 200
LAST_PLACE = 2**63 - 1  # the largest row number that both databases can hold

PARAMETERS = ("after", "limit")


def page(
    request: Request,
    rows: QuerySet[M],
    show: Callable[[list[M]], list[dict[str, Any]]],
) -> HttpResponse:
    """One page of ``rows``, which are in the order of their key; ``next`` is null on the last."""
    after, limit = window(request)
    found = list(rows.filter(pk__gt=after)[: limit + 1])
    more = len(found) > limit
    found = found[:limit]
    following = None
    if more:
        place = urlencode({"after": found[-1].pk, "limit": limit})
        following = request.build_absolute_uri(f"{request.path}?{place}")
    response = answers.of({"items": show(found), "next": following}).response()
    if following:
        response.headers["Link"] = f'<{following}>; rel="next"'
    return response


def window(request: Request) -> tuple[int, int]:
    """``after`` and ``limit``; what is unknown, stands twice or means nothing is refused."""
    query = request.query_params.dict()
    for name in query:
        if name not in PARAMETERS:
            raise _unusable(name, "unknown", f"There is no parameter {name[:40]!r} here.")
        if len(request.query_params.getlist(name)) > 1:
            raise _unusable(name, "twice", f"{name} stands in the address twice.")
    after = _whole(query, "after", least=0, most=LAST_PLACE, default=0)
    return after, _whole(query, "limit", least=1, most=MOST, default=DEFAULT_LIMIT)


def no_query(request: Request) -> None:
    """Refuse every parameter: this address has none."""
    for name in request.query_params:
        raise _unusable(name, "unknown", f"There is no parameter {name[:40]!r} here.")


def _whole(query: Mapping[str, str], name: str, *, least: int, most: int, default: int) -> int:
    text = query.get(name)
    if text is None:
        return default
    digits = len(str(most))
    if text.isascii() and text.isdigit() and len(text) <= digits and least <= int(text) <= most:
        return int(text)
    says = f"{name} must be a whole number from {least} to {most}."
    raise _unusable(name, "out_of_range", says)


def _unusable(name: str, code: str, says: str) -> Problem:
    return Problem("invalid_query", says, faults=(Fault(f"?{name[:40]}", code, says),))
