"""POST /api/v1/result-batches: a file of many records, one verdict a line; and its mappings."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django.db import transaction
from django.db.models import Count
from django.http import HttpResponse
from django.utils import timezone
from rest_framework.request import Request

from api.batches import files, mapping, running
from api.keys import Scope
from api.models import BatchLine, FileMapping, ResultBatch
from api.problems import Fault, Problem
from api.tasks import go_on_with_batches
from api.v1 import answers, paging, shapes, strict_body
from api.v1.authentication import caller_of
from api.v1.body_shapes import ref
from api.v1.described import described
from api.v1.view import LabView

PATH = "/api/v1/result-batches"
_NAME = r"^[a-z0-9-]{1,40}$"
_FILES = (files.NDJSON, files.CSV, files.XML)
MODES = ("best_effort", "all_or_nothing")
_YES_NO = {"true": True, "false": False}


class Batches(LabView):
    """The lab's files."""

    scopes: ClassVar[Mapping[str, str]] = {"POST": Scope.WRITE_RESULTS}

    @described(
        name="post_result_batch",
        answers={202: ref("Batch"), 200: ref("Batch")},
        parameters=shapes.BATCH_PARAMETERS,
        bodies={media_type: {"type": "string"} for media_type in _FILES},
    )
    def post(self, request: Request) -> HttpResponse:
        """Send a file of test records.

        NDJSON holds one record a line; CSV and XML are read by a mapping that was saved before.
        202: taken, and worked on in the background; ask its address. Each line is stored by itself,
        so a wrong one keeps none of the others back; with `mode=all_or_nothing` one line that is
        refused, or names no one cylinder, keeps back all. 200: this very content was sent before in
        this mode. With `dry_run=true` each line is told what would come of it, and none is stored.
        """
        lab = caller_of(request).lab
        dry_run, whole, name = _query(request)
        raw = strict_body.read(request, media_types=_FILES, most=running.MOST_BYTES)
        how = None
        if name is not None:
            saved = FileMapping.objects.filter(lab=lab, name=name).first()
            if saved is None:
                raise Problem("not_found", f"You have saved no mapping {name!r}.")
            how = mapping.read(saved.content)
        media_type = request.headers["Content-Type"].partition(";")[0].strip().lower()
        content = files.as_lines(raw, media_type, how)
        batch, new = running.take(
            lab_id=lab.pk, content=content, dry_run=dry_run, whole=whole, at=timezone.now()
        )
        if not batch.finished_at:
            # Without a queue nothing is lost: the clock goes on with what is left each minute.
            transaction.on_commit(go_on_with_batches.delay, robust=True)
        batch.refresh_from_db()
        status = 202 if new else 200
        return answers.of(_batch(batch), status=status, location=f"{PATH}/{batch.pk}").response()


class OneBatch(LabView):
    """One file of the lab."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_RESULTS}

    @described(
        name="read_result_batch",
        answers={200: ref("Batch")},
        parameters=(shapes.BATCH_NUMBER,),
    )
    def get(self, request: Request, number: int) -> HttpResponse:
        """Read how far a batch is, and what came of its lines so far, counted."""
        paging.no_query(request)
        return answers.of(_batch(_own(request, number))).response()


class Lines(LabView):
    """The lines of one file."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_RESULTS}

    @described(
        name="list_batch_lines",
        answers={200: shapes.page_of("BatchLine")},
        parameters=(shapes.BATCH_NUMBER, *shapes.PAGE_PARAMETERS),
    )
    def get(self, request: Request, number: int) -> HttpResponse:
        """List the verdicts on the lines that are done, in the order in which they were done."""
        rows = _own(request, number).lines.order_by("pk")
        return paging.page(request, rows, lambda found: [_line(row) for row in found])


class OneMapping(LabView):
    """One saved mapping."""

    scopes: ClassVar[Mapping[str, str]] = {
        "GET": Scope.READ_RESULTS,
        "PUT": Scope.WRITE_RESULTS,
    }

    @described(
        name="read_file_mapping",
        answers={200: ref("FileMapping")},
        parameters=(shapes.MAPPING_NAME,),
    )
    def get(self, request: Request, name: str) -> HttpResponse:
        """Read a saved mapping."""
        paging.no_query(request)
        saved = FileMapping.objects.filter(lab=caller_of(request).lab, name=name).first()
        if saved is None:
            raise Problem("not_found", "You have saved no mapping of that name.")
        return answers.tagged(request, answers.of(saved.content))

    @described(
        name="save_file_mapping",
        answers={200: ref("FileMapping")},
        parameters=(shapes.MAPPING_NAME,),
        bodies={answers.MEDIA_TYPE: ref("FileMapping")},
    )
    def put(self, request: Request, name: str) -> HttpResponse:
        """Save how the columns of your files are to be read; files sent before are not touched."""
        paging.no_query(request)
        value = strict_body.read_json(request)
        mapping.read(value)
        FileMapping.objects.update_or_create(
            lab=caller_of(request).lab,
            name=name,
            defaults={"content": value, "saved_at": timezone.now()},
        )
        return answers.tagged(request, answers.of(value))


def _query(request: Request) -> tuple[bool, bool, str | None]:
    query = request.query_params
    for name in query:
        if name not in {"dry_run", "mapping", "mode"} or len(query.getlist(name)) > 1:
            raise _unusable(name, f"{name[:40]!r} is unknown here, or stands twice.")
    word = query.get("dry_run", "false")
    if word not in _YES_NO:
        raise _unusable("dry_run", "dry_run is true or false.")
    mode = query.get("mode", MODES[0])
    if mode not in MODES:
        raise _unusable("mode", f"mode is {' or '.join(MODES)}.")
    return _YES_NO[word], mode == MODES[1], query.get("mapping")


def _unusable(name: str, says: str) -> Problem:
    return Problem("invalid_query", says, faults=(Fault(f"?{name[:40]}", "unusable", says),))


def _own(request: Request, number: int) -> ResultBatch:
    found = ResultBatch.objects.filter(pk=number, lab=caller_of(request).lab).first()
    if found is None:
        raise Problem("not_found", "You have sent no batch of that number.")
    return found


def _batch(batch: ResultBatch) -> dict[str, Any]:
    counted = batch.lines.values_list("outcome").annotate(count=Count("pk"))
    counts = dict.fromkeys(BatchLine.Outcome.values, 0) | dict(counted)
    return {
        "batch": batch.pk,
        "dry_run": batch.dry_run,
        "mode": MODES[batch.whole],
        "state": "finished" if batch.finished_at else "working",
        "total": batch.total,
        "done": sum(counts.values()),
        "counts": counts,
        "received_at": batch.received_at.isoformat(),
        "finished_at": batch.finished_at.isoformat() if batch.finished_at else None,
        "lines": f"{PATH}/{batch.pk}/lines",
    }


def _line(row: BatchLine) -> dict[str, Any]:
    return {
        "line": row.number,
        "outcome": row.outcome,
        "lab_reference": row.lab_reference or None,
        "verdict": row.verdict or None,
        "code": row.code or None,
        "says": row.says,
        "errors": row.errors,
    }
