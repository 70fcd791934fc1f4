"""POST and GET /api/v1/test-records: what the lab measured, and what became of it."""

from collections.abc import Mapping
from typing import ClassVar

from django.http import HttpResponse
from django.utils import timezone
from rest_framework.request import Request

from api import posted_records
from api.keys import Scope
from api.posted_records import Received
from api.problems import Problem
from api.v1 import answers, idempotency, paging, shapes, strict_body
from api.v1.answers import Answer
from api.v1.authentication import Caller, caller_of
from api.v1.body_shapes import ref
from api.v1.described import described
from api.v1.idempotency import Post
from api.v1.view import LabView
from cylinders.models import TestRecord
from cylinders.queries import for_lab

PATH = "/api/v1/test-records"


class TestRecords(LabView):
    """The lab's records."""

    __test__ = False  # the name begins with "Test"; it is no test
    scopes: ClassVar[Mapping[str, str]] = {
        "GET": Scope.READ_RESULTS,
        "POST": Scope.WRITE_RESULTS,
    }

    @described(
        name="list_test_records",
        answers={200: shapes.page_of("TestRecord")},
        parameters=shapes.PAGE_PARAMETERS,
    )
    def get(self, request: Request) -> HttpResponse:
        """List the records of this lab in the order of their arrival."""
        rows = for_lab.records(lab_id=caller_of(request).lab.pk)
        return paging.page(
            request, rows, lambda found: [posted_records.as_told(row) for row in found]
        )

    @described(
        name="post_test_record",
        answers={201: ref("TestRecord"), 200: ref("TestRecord")},
        parameters=[shapes.IDEMPOTENCY_KEY],
        bodies={answers.MEDIA_TYPE: ref("TestBody")},
    )
    def post(self, request: Request) -> HttpResponse:
        """Post one record; it is judged again on arrival.

        201: stored. 200: this very record was held already under its reference. `state` tells
        whether it counts (`attached`) or waits for a person (`held`).
        """
        paging.no_query(request)
        caller, at = caller_of(request), timezone.now()
        key = idempotency.key_of(request)
        value = strict_body.read_json(request)
        post = Post(caller.lab.pk, "POST", PATH, key, posted_records.canonical(value))

        def act() -> Answer:
            return told(
                posted_records.receive(lab_id=caller.lab.pk, value=value, at=at, by=caller.actor),
            )

        return idempotency.once(post, act, at=at).response()


class OneTestRecord(LabView):
    """One record of the lab, by the lab's own reference."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_RESULTS}

    @described(
        name="read_test_record",
        answers={200: ref("KeptTestRecord")},
        parameters=[shapes.REFERENCE],
    )
    def get(self, request: Request, reference: str) -> HttpResponse:
        """Read one record: how it was judged, whether it counts, and the body as it was sent."""
        paging.no_query(request)
        record = own_record(caller_of(request), reference)
        return answers.tagged(request, kept_answer(record))


def own_record(caller: Caller, reference: str) -> TestRecord:
    """The caller's record of that reference, or :class:`Problem` (404)."""
    record = for_lab.records(lab_id=caller.lab.pk).filter(lab_reference=reference).first()
    if record is None:
        raise Problem("not_found", "You have sent no record with that reference.")
    return record


def kept_answer(record: TestRecord) -> Answer:
    """A record with its body as it was sent."""
    return answers.of(posted_records.as_told(record), as_sent={"body": record.body})


def told(received: Received) -> Answer:
    """What a post of a record is answered with."""
    record = received.record
    return answers.of(
        posted_records.as_told(record),
        status=201 if received.new else 200,
        location=f"{PATH}/{record.lab_reference}",
    )
