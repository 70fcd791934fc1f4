"""POST corrections and voids: how a lab takes back what it reported. Nothing is ever edited."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django.http import HttpResponse
from django.utils import timezone
from rest_framework.request import Request

from api import posted_records
from api.keys import Scope
from api.problems import Fault, Problem
from api.v1 import answers, idempotency, paging, shapes, strict_body
from api.v1.answers import Answer
from api.v1.authentication import Caller, caller_of
from api.v1.body_shapes import ref
from api.v1.described import described
from api.v1.idempotency import Post
from api.v1.test_records import PATH, kept_answer, told
from api.v1.view import LabView
from cylinders.operations import amendment
from cylinders.operations.amendment import Correction
from cylinders.queries import for_lab
from cylinders.rules.judgement import UnusableBody
from cylinders.rules.judgement.reader import Fields

_LONGEST_REASON = 2_000


class Corrections(LabView):
    """The correction of one record."""

    scopes: ClassVar[Mapping[str, str]] = {"POST": Scope.WRITE_RESULTS}

    @described(
        name="correct_test_record",
        answers={201: ref("TestRecord"), 200: ref("TestRecord")},
        parameters=(shapes.REFERENCE, shapes.IDEMPOTENCY_KEY),
        bodies={answers.MEDIA_TYPE: ref("Correction")},
        more_problems=(412,),
    )
    def post(self, request: Request, reference: str) -> HttpResponse:
        """Post a record that takes the place of another, with the reason.

        It is `held` where it would lift a condemnation or a rejection, and where the record it
        corrects has not come yet; in the latter case it counts as soon as that one has come. With
        the header `If-Match` (the ETag of the record as you know it) it is refused where the record
        has changed since: 412.
        """
        caller, at = caller_of(request), timezone.now()
        post, value = _read(request, caller, reference)
        reason, record = _members(value, "reason", "record")

        def act() -> Answer:
            _check_match(request, caller, reference)
            correction = Correction(reference, reason)
            try:
                received = posted_records.correct(
                    lab_id=caller.lab.pk,
                    correction=correction,
                    value=record,
                    at=at,
                    by=caller.actor,
                )
            except UnusableBody as unusable:
                raise _inside(unusable) from unusable
            return told(received)

        return idempotency.once(post, act, at=at).response()


class Void(LabView):
    """The void of one record."""

    scopes: ClassVar[Mapping[str, str]] = {"POST": Scope.WRITE_RESULTS}

    @described(
        name="void_test_record",
        answers={201: ref("VoidedRecord"), 200: ref("VoidedRecord")},
        parameters=(shapes.REFERENCE,),
        bodies={answers.MEDIA_TYPE: ref("Void")},
        more_problems=(412,),
    )
    def post(self, request: Request, reference: str) -> HttpResponse:
        """Take one record out, as if it had never come, with the reason.

        A record that has not come yet is taken out when it comes. 200: it was void already, and
        stays so for the reason given first; so a retry needs no Idempotency-Key. `If-Match` works
        as with a correction.
        """
        caller, at = caller_of(request), timezone.now()
        _check_address(request, reference)
        [reason] = _members(strict_body.read_json(request), "reason")
        _check_match(request, caller, reference)
        void, new = amendment.void_record(
            lab_id=caller.lab.pk, lab_reference=reference, reason=reason, at=at, by=caller.actor
        )
        members = {
            "voids": void.lab_reference,
            "reason": void.reason,
            "received_at": void.received_at.isoformat(),
        }
        return answers.of(members, status=201 if new else 200).response()


def _check_address(request: Request, reference: str) -> None:
    """Refuse a query, and a reference that no record can have."""
    paging.no_query(request)
    if not posted_records.REFERENCE.fullmatch(reference):
        raise Problem("not_found", "No record can have that reference.")


def _read(request: Request, caller: Caller, reference: str) -> tuple[Post, object]:
    """The post as it counts for idempotency, and the JSON value of its body."""
    _check_address(request, reference)
    key = idempotency.key_of(request)
    value = strict_body.read_json(request)
    path = f"{PATH}/{reference}/corrections"
    return Post(caller.lab.pk, "POST", path, key, posted_records.canonical(value)), value


def _members(value: object, *names: str) -> list[Any]:
    """The reason and the other members of a body that has just these."""
    faults: list[Any] = []
    fields = Fields(value, "", faults)
    found: list[Any] = [fields.text("reason", most=_LONGEST_REASON)]
    if "record" in names:
        fields.child("record")
        found.append(value.get("record") if isinstance(value, dict) else None)
    fields.close()
    if faults or not isinstance(value, dict):
        raise strict_body.misshapen(UnusableBody(faults))
    return found


def _inside(unusable: UnusableBody) -> Problem:
    """The same faults with the places that they have inside the correction."""
    outer = strict_body.misshapen(unusable)
    outer.faults = [Fault(f"/record{one.pointer}", one.code, one.says) for one in outer.faults]
    return outer


def _check_match(request: Request, caller: Caller, reference: str) -> None:
    """Raise :class:`Problem` (412) where the caller names another state of the record."""
    wanted = request.headers.get("If-Match")
    if wanted is None:
        return
    record = for_lab.records(lab_id=caller.lab.pk).filter(lab_reference=reference).first()
    if record is None or wanted.strip() not in {"*", answers.etag(kept_answer(record))}:
        raise Problem("record_changed", f"{reference} is not in the state that If-Match names.")
