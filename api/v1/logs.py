"""GET /api/v1/daily-logs: a lab's tests of a day, and one test, in the regulation's fields."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from django.http import HttpResponse
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request

from api import test_logs
from api.keys import Scope
from api.problems import Problem
from api.test_logs import CSV, PDF, Log
from api.v1 import answers, paging, shapes
from api.v1.authentication import Caller, caller_of
from api.v1.body_shapes import DAY, Schema, ref, words
from api.v1.described import described
from api.v1.test_records import own_record
from api.v1.view import LabView
from cylinders.queries.test_log import FIELDS

_DAY: Schema = {"name": "day", "in": "path", "required": True, "schema": DAY}
_FORM: Schema = {
    "name": "form",
    "in": "path",
    "required": True,
    "schema": words("csv", "pdf"),
}
_FILE: Schema = {"type": "string", "format": "binary"}


class AsFile(BaseRenderer):
    """Says that an address gives the type that its end names."""

    media_type = "*/*"
    format = "file"

    def render(self, data: Any, *_more: object) -> bytes:
        """Never asked: the view answers with bytes of its own."""
        return str(data).encode()


class DailyLog(LabView):
    """One day of the lab."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_RESULTS}

    @described(name="read_daily_log", answers={200: ref("DailyLog")}, parameters=[_DAY])
    def get(self, request: Request, day: str) -> HttpResponse:
        """Read all that you did on one day: calibration tests first, then every test.

        Unsuccessful, held and voided tests too, with what each counts for. A proof pressure test
        has no expansions.
        """
        paging.no_query(request)
        log = _of_day(caller_of(request), day)
        rows = [{name: row.get(name, "") for name in FIELDS} for row in log.rows]
        return answers.of({"day": day, "rows": rows}).response()


class DailyLogFile(LabView):
    """The same as a file."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_RESULTS}
    renderer_classes: Sequence[type[BaseRenderer]] = (JSONRenderer, AsFile)

    @described(
        name="fetch_daily_log",
        answers={200: _FILE},
        answered_as=(CSV, PDF),
        parameters=(_DAY, _FORM),
    )
    def get(self, request: Request, day: str, form: str) -> HttpResponse:
        """Fetch the log of one day as CSV or PDF."""
        paging.no_query(request)
        return _file(_of_day(caller_of(request), day), form)


class TestRecordFile(LabView):
    """One test as a file."""

    __test__ = False  # the name begins with "Test"; it is no test
    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_RESULTS}
    renderer_classes: Sequence[type[BaseRenderer]] = (JSONRenderer, AsFile)

    @described(
        name="fetch_test_record",
        answers={200: _FILE},
        answered_as=(CSV, PDF),
        parameters=(shapes.REFERENCE, _FORM),
    )
    def get(self, request: Request, reference: str, form: str) -> HttpResponse:
        """Fetch one test in the regulation's fields as CSV or PDF, with the check of its day."""
        paging.no_query(request)
        return _file(test_logs.of_record(own_record(caller_of(request), reference)), form)


def _of_day(caller: Caller, text: str) -> Log:
    try:
        day = dt.date.fromisoformat(text) if len(text) == len("2026-11-20") else None
    except ValueError:
        day = None
    if day is None:
        raise Problem("not_found", "That is no day; give YYYY-MM-DD.")
    return test_logs.of_day(caller.lab, day)


def _file(log: Log, form: str) -> HttpResponse:
    csv = form == "csv"
    content = log.as_csv() if csv else log.as_pdf()
    response = HttpResponse(content, content_type=f"{CSV}; charset=utf-8" if csv else PDF)
    response.headers["Content-Disposition"] = f'attachment; filename="{log.name}.{form}"'
    return response
