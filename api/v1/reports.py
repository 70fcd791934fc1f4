"""/api/v1/calibrations, inspections and dryings: what a lab reports beside its test records."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from django.http import HttpResponse
from django.utils import timezone
from rest_framework.request import Request

from api import posted_reports
from api.keys import Scope
from api.posted_records import canonical
from api.problems import Fault, Problem
from api.v1 import answers, idempotency, paging, shapes, strict_body
from api.v1.answers import Answer
from api.v1.authentication import Caller, caller_of
from api.v1.body_shapes import ref
from api.v1.described import described
from api.v1.idempotency import Post
from api.v1.view import LabView
from cylinders.models import LabReport
from cylinders.operations import lab_reports
from cylinders.queries.lab_reports import reports
from cylinders.rules.judgement import UnusableBody
from cylinders.rules.judgement.reader import Fields
from cylinders.rules.lab_reports import reading
from cylinders.rules.lab_reports.bodies import ReportKind

_LONGEST_REASON = 2_000
_WRITE: Mapping[str, str] = {"POST": Scope.WRITE_RESULTS}


@dataclass(frozen=True, slots=True)
class Resource:
    """One kind of report: the end of its address, its name in the schema, what it is about."""

    kind: ReportKind
    plural: str
    noun: str
    shape: str
    about: str

    @property
    def path(self) -> str:
        """Where its reports are."""
        return f"/api/v1/{self.plural}"


CALIBRATIONS = Resource(
    ReportKind.CALIBRATION,
    "calibrations",
    "calibration",
    "CalibrationReport",
    "A test record leans on the newest check of its day and apparatus, or on the one that it names "
    "in `daily_check`; without a valid one it is held.",
)
INSPECTIONS = Resource(
    ReportKind.INSPECTION,
    "inspections",
    "inspection",
    "InspectionReport",
    "Each is a gate before the pressure test: a record whose cylinder failed one, or lacks one "
    "that is asked for, is held with the reason.",
)
DRYINGS = Resource(
    ReportKind.DRYING,
    "dryings",
    "drying",
    "DryingReport",
    "Over the limit of the metal the cylinder counts as over-heated (49 CFR 180.203).",
)


def listing(resource: Resource) -> type[LabView]:
    """The list of one kind of report, and the post of a new one."""

    class Reports(LabView):
        scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_RESULTS, **_WRITE}

        @described(
            name=f"list_{resource.plural}",
            answers={200: shapes.page_of("Report")},
            parameters=shapes.PAGE_PARAMETERS,
        )
        def get(self, request: Request) -> HttpResponse:
            """List your own, in the order of their arrival."""
            rows = reports(lab_id=caller_of(request).lab.pk, kind=resource.kind)
            return paging.page(request, rows, lambda found: [*map(posted_reports.as_told, found)])

        @described(
            name=f"post_{resource.noun}",
            answers={201: ref("Report"), 200: ref("Report")},
            parameters=[shapes.IDEMPOTENCY_KEY],
            bodies={answers.MEDIA_TYPE: ref(resource.shape)},
            more=resource.about,
        )
        def post(self, request: Request) -> HttpResponse:
            """Post one; it is judged on arrival, and so are the records that lean on it.

            201: stored. 200: this very one was held already under its reference.
            """
            paging.no_query(request)
            caller, key = caller_of(request), idempotency.key_of(request)
            value = strict_body.read_json(request)
            post = Post(caller.lab.pk, "POST", resource.path, key, canonical(value))

            def act() -> Answer:
                return _receive(resource, caller, value)

            return idempotency.once(post, act, at=timezone.now()).response()

    return Reports


def one(resource: Resource) -> type[LabView]:
    """One report by the lab's own reference."""

    class OneReport(LabView):
        scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_RESULTS}

        @described(
            name=f"read_{resource.noun}",
            answers={200: ref("KeptReport")},
            parameters=[shapes.REFERENCE],
        )
        def get(self, request: Request, reference: str) -> HttpResponse:
            """Read one: what it comes to, whether it counts, and the body as it was sent."""
            paging.no_query(request)
            return answers.tagged(request, _kept(_own(resource, caller_of(request), reference)))

    return OneReport


def corrections(resource: Resource) -> type[LabView]:
    """The correction of one report."""

    class Corrections(LabView):
        scopes: ClassVar[Mapping[str, str]] = _WRITE

        @described(
            name=f"correct_{resource.noun}",
            answers={201: ref("Report"), 200: ref("Report")},
            parameters=(shapes.REFERENCE, shapes.IDEMPOTENCY_KEY),
            bodies={answers.MEDIA_TYPE: ref(f"{resource.shape}Correction")},
            more_problems=(412,),
        )
        def post(self, request: Request, reference: str) -> HttpResponse:
            """Post one that takes the place of another, with the reason.

            Nothing is edited: the other stays as it was sent, superseded. With `If-Match` (its ETag
            as you know it) it is refused where it has changed since: 412.
            """
            caller = caller_of(request)
            _check_address(request, reference)
            key, value = idempotency.key_of(request), strict_body.read_json(request)
            path = f"{resource.path}/{reference}/corrections"
            post = Post(caller.lab.pk, "POST", path, key, canonical(value))
            reason, report = _members(value, "report")

            def act() -> Answer:
                _check_match(resource, request, caller, reference)
                return _receive(resource, caller, report, corrects=reference, reason=reason)

            return idempotency.once(post, act, at=timezone.now()).response()

    return Corrections


def void(resource: Resource) -> type[LabView]:
    """The void of one report."""

    class Void(LabView):
        scopes: ClassVar[Mapping[str, str]] = _WRITE

        @described(
            name=f"void_{resource.noun}",
            answers={201: ref("VoidedRecord"), 200: ref("VoidedRecord")},
            parameters=(shapes.REFERENCE,),
            bodies={answers.MEDIA_TYPE: ref("Void")},
            more_problems=(412,),
        )
        def post(self, request: Request, reference: str) -> HttpResponse:
            """Take one out, as if it had never come, with the reason.

            One that has not come yet is taken out when it comes. 200: it was void already, so a
            retry needs no Idempotency-Key. The records that leaned on it are judged again.
            """
            caller = caller_of(request)
            _check_address(request, reference)
            [reason] = _members(strict_body.read_json(request))
            _check_match(resource, request, caller, reference)
            made, new = lab_reports.void(
                lab_id=caller.lab.pk,
                kind=resource.kind,
                lab_reference=reference,
                reason=reason,
                at=timezone.now(),
                by=caller.actor,
            )
            members = {
                "voids": made.lab_reference,
                "reason": made.reason,
                "received_at": made.received_at.isoformat(),
            }
            return answers.of(members, status=201 if new else 200).response()

    return Void


def _receive(
    resource: Resource, caller: Caller, value: object, *, corrects: str = "", reason: str = ""
) -> Answer:
    try:
        receipt = posted_reports.receive(
            lab_id=caller.lab.pk,
            kind=resource.kind,
            value=value,
            at=timezone.now(),
            by=caller.actor,
            corrects=corrects,
            reason=reason,
        )
    except UnusableBody as unusable:
        raise _inside(unusable, "/report" if corrects else "") from unusable
    return answers.of(
        posted_reports.as_told(receipt.report),
        status=201 if receipt.created else 200,
        location=f"{resource.path}/{receipt.report.lab_reference}",
    )


def _own(resource: Resource, caller: Caller, reference: str) -> LabReport:
    found = reports(lab_id=caller.lab.pk, kind=resource.kind).filter(lab_reference=reference)
    row = found.first()
    if row is None:
        raise Problem("not_found", f"You have sent no {resource.noun} with that reference.")
    return row


def _kept(report: LabReport) -> Answer:
    return answers.of(posted_reports.as_told(report), as_sent={"body": report.body})


def _check_address(request: Request, reference: str) -> None:
    paging.no_query(request)
    if not reading.REFERENCE.fullmatch(reference):
        raise Problem("not_found", "Nothing can have that reference.")


def _check_match(resource: Resource, request: Request, caller: Caller, reference: str) -> None:
    """Raise :class:`Problem` (412) where the caller names another state of the report."""
    wanted = request.headers.get("If-Match")
    if wanted is None:
        return
    row = reports(lab_id=caller.lab.pk, kind=resource.kind).filter(lab_reference=reference).first()
    if row is None or wanted.strip() not in {"*", answers.etag(_kept(row))}:
        raise Problem("record_changed", f"{reference} is not in the state that If-Match names.")


def _members(value: object, *names: str) -> list[Any]:
    """The reason and the other members of a body that has just these."""
    faults: list[Any] = []
    fields = Fields(value, "", faults)
    found: list[Any] = [fields.text("reason", most=_LONGEST_REASON)]
    for name in names:
        fields.child(name)
        found.append(value.get(name) if isinstance(value, dict) else None)
    fields.close()
    if faults or not isinstance(value, dict):
        raise strict_body.misshapen(UnusableBody(faults))
    return found


def _inside(unusable: UnusableBody, place: str) -> Problem:
    """The same faults with the places that they have inside the body."""
    outer = strict_body.misshapen(unusable)
    outer.faults = [Fault(f"{place}{one.pointer}", one.code, one.says) for one in outer.faults]
    return outer
