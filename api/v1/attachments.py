"""Papers to a test record: POST, list and fetch, by the lab whose record it is."""

import datetime as dt
import hashlib
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from django.http import HttpResponse
from django.utils import timezone
from rest_framework.renderers import BaseRenderer, JSONRenderer
from rest_framework.request import Request

from api import file_answers, papers
from api.keys import Scope
from api.problems import Fault, Problem
from api.v1 import answers, attachment_shapes, idempotency, paging, shapes, strict_body
from api.v1.answers import Answer
from api.v1.authentication import caller_of
from api.v1.body_shapes import ref
from api.v1.described import described
from api.v1.idempotency import Post
from api.v1.test_records import PATH, own_record
from api.v1.view import LabView
from cylinders.models import Attachment, Shows
from cylinders.operations import filing
from cylinders.operations import papers as operation
from cylinders.queries import stored_files
from cylinders.rules.refusal import Refused


class AsKept(BaseRenderer):
    """Says that an address gives whatever type its file has."""

    media_type = "*/*"
    format = "kept"

    def render(self, data: Any, *_more: object) -> bytes:
        """Never asked: the view answers with bytes of its own."""
        return str(data).encode()


class Attachments(LabView):
    """The papers of one record."""

    scopes: ClassVar[Mapping[str, str]] = {
        "GET": Scope.READ_RESULTS,
        "POST": Scope.WRITE_RESULTS,
    }

    @described(
        name="list_attachments",
        answers={200: shapes.page_of("Attachment")},
        parameters=(shapes.REFERENCE, *shapes.PAGE_PARAMETERS),
    )
    def get(self, request: Request, reference: str) -> HttpResponse:
        """List the papers of one of your records in the order of their arrival."""
        record = own_record(caller_of(request), reference)
        rows = stored_files.papers(lab_id=record.lab_id, reference=reference)
        return paging.page(request, rows, lambda found: [_told(row, reference) for row in found])

    @described(
        name="post_attachment",
        answers={201: ref("Attachment"), 200: ref("Attachment")},
        parameters=(shapes.REFERENCE, shapes.IDEMPOTENCY_KEY, attachment_shapes.SHOWS),
        bodies=dict.fromkeys(papers.MEDIA_TYPES, attachment_shapes.BYTES),
    )
    def post(self, request: Request, reference: str) -> HttpResponse:
        """Attach a PDF, a JPEG or a PNG to one of your records: the bytes are the body.

        They are kept as they are, at most 10 MB; the answer names their SHA-256. 200: this very
        content belongs to the record already. A PDF that is locked, or that holds a script, a
        program to start or a file of its own, is refused.
        """
        caller, at = caller_of(request), timezone.now()
        shows = _shows(request)
        key = idempotency.key_of(request)
        record = own_record(caller, reference)
        raw = strict_body.read(request, media_types=papers.MEDIA_TYPES, most=papers.MOST_BYTES)
        content = _judged(request, raw)
        digest = f"{shows} {content.media_type} {hashlib.sha256(raw).hexdigest()}"
        path = f"{PATH}/{reference}/attachments"
        post = Post(caller.lab.pk, "POST", path, key, digest)

        def act() -> Answer:
            added, new = operation.add(
                record_id=record.pk,
                file=_kept(content, at=at),
                shows=shows,
                at=at,
                by=caller.actor,
            )
            told = _told(added, reference)
            return answers.of(told, status=201 if new else 200, location=told["content"])

        return idempotency.once(post, act, at=at).response()


class OneAttachment(LabView):
    """One paper."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_RESULTS}
    renderer_classes: Sequence[type[BaseRenderer]] = (JSONRenderer, AsKept)

    @described(
        name="fetch_attachment",
        answers={200: attachment_shapes.BYTES},
        answered_as=papers.MEDIA_TYPES,
        parameters=(shapes.REFERENCE, attachment_shapes.NUMBER),
        more_problems=(410,),
    )
    def get(self, request: Request, reference: str, number: int) -> HttpResponse:
        """Fetch one paper: the very bytes that were sent, as a download."""
        paging.no_query(request)
        record = own_record(caller_of(request), reference)
        rows = stored_files.papers(lab_id=record.lab_id, reference=reference)
        found = rows.filter(pk=number).first()
        if found is None:
            raise Problem("not_found", "That record has no attachment of that number.")
        try:
            stored_files.read(found.file)
        except stored_files.FileMissing as missing:
            raise Problem(
                "file_lost", f"It cannot be given: {missing}. Send it again."
            ) from missing
        return file_answers.answer(found)


def _judged(request: Request, raw: bytes) -> filing.Content:
    """The paper as it may be kept; raises :class:`Problem`: 415 or 422."""
    try:
        content = papers.judged(raw)
    except Refused as refused:
        fault = Fault("", refused.code, refused.says)
        raise Problem("file_refused", refused.says, faults=(fault,)) from refused
    said = request.headers["Content-Type"].partition(";")[0].strip().lower()
    if said != content.media_type:
        says = f"The header says {said}, the bytes are {content.media_type}."
        raise Problem("unsupported_media_type", says)
    return content


def _kept(content: filing.Content, *, at: dt.datetime) -> int:
    """The number of the kept file; raises :class:`Problem` (503) where the store takes none."""
    try:
        return filing.keep(content, at=at).pk
    except Refused as refused:
        raise Problem("busy", refused.says, headers={"Retry-After": "60"}) from refused


def _shows(request: Request) -> str:
    query = request.query_params
    for name in query:
        if name != "shows" or len(query.getlist(name)) > 1:
            says = f"{name[:40]!r} is unknown here, or stands twice."
            raise Problem("invalid_query", says, faults=(Fault(f"?{name[:40]}", "unknown", says),))
    word = query.get("shows", Shows.OTHER.value)
    if word not in operation.OF_A_PAPER:
        says = f"shows is one of: {', '.join(operation.OF_A_PAPER)}."
        raise Problem("invalid_query", says, faults=(Fault("?shows", "unknown_word", says),))
    return word


def _told(row: Attachment, reference: str) -> dict[str, Any]:
    return {
        "attachment": row.pk,
        "sha256": row.file.sha256,
        "media_type": row.file.media_type,
        "size": row.file.size,
        "shows": row.shows,
        "received_at": row.added_at.isoformat(),
        "content": f"{PATH}/{reference}/attachments/{row.pk}",
    }
