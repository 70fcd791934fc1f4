"""Take a batch and do what is left of it: each line is a transaction of its own.

A line's record and its verdict are stored together, so a line is never done and not noted, nor
noted and not done. Whoever dies leaves the rest to the next one, who may be anybody.
"""

import datetime as dt
import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from django.db import IntegrityError, transaction
from django.utils import timezone

from api import posted_records
from api.models import BatchLine, ResultBatch
from cylinders.facts import Actor
from cylinders.queries import for_lab
from cylinders.rules.judgement import UnusableBody, loads
from cylinders.rules.refusal import Refused

MOST_BYTES = 8_000_000
MOST_LINES = 10_000
_LONGEST_SAYS = 1_000


@dataclass(frozen=True, slots=True)
class Verdict:
    """What came of one line."""

    outcome: str
    reference: str = ""
    verdict: str = ""
    code: str = ""
    says: str = ""
    errors: list[dict[str, str]] = field(default_factory=list)


@transaction.atomic
def take(*, lab_id: int, content: str, dry_run: bool, at: dt.datetime) -> tuple[ResultBatch, bool]:
    """Keep a file as a batch; returns it and whether it is new. The same content is the same batch.

    Raises :class:`Refused`: ``empty_batch``, ``batch_too_long``.
    """
    total = sum(1 for _ in lines_of(content))
    if not total:
        raise Refused("empty_batch", "The file has no line.")
    if total > MOST_LINES:
        raise Refused("batch_too_long", f"{total} lines; send at most {MOST_LINES} at once.")
    return ResultBatch.objects.get_or_create(
        lab_id=lab_id,
        digest=hashlib.sha256(content.encode()).hexdigest(),
        dry_run=dry_run,
        defaults={"content": content, "total": total, "received_at": at},
    )


def lines_of(content: str) -> Iterator[tuple[int, str]]:
    """``(number, text)`` of each line that is not blank; only LF and CR LF end a line."""
    for number, line in enumerate(content.split("\n"), start=1):
        if line.strip():
            yield number, line.removesuffix("\r")


def go_on(*, batch_id: int, now: Callable[[], dt.datetime], until: dt.datetime) -> bool:
    """Do the lines that are left, until the moment ``until``; whether the batch is finished."""
    batch = ResultBatch.objects.get(pk=batch_id)
    if batch.finished_at:
        return True
    done = set(batch.lines.values_list("number", flat=True))
    for number, text in lines_of(batch.content):
        if number in done:
            continue
        if now() >= until:
            return False
        _do(batch, number, text, at=now())
    ResultBatch.objects.filter(pk=batch_id).update(finished_at=now())
    return True


def unfinished() -> list[int]:
    """The numbers of the batches that wait for somebody, oldest first."""
    waiting = ResultBatch.objects.filter(finished_at__isnull=True).order_by("pk")
    return list(waiting.values_list("pk", flat=True))


def _do(batch: ResultBatch, number: int, text: str, *, at: dt.datetime) -> None:
    """Do one line, unless somebody else has done it meanwhile."""
    try:
        with transaction.atomic():
            found = _verdict(batch, text, at=at)
            BatchLine.objects.create(
                batch=batch,
                number=number,
                outcome=found.outcome,
                lab_reference=found.reference,
                verdict=found.verdict,
                code=found.code,
                says=found.says[:_LONGEST_SAYS],
                errors=found.errors,
            )
    except IntegrityError:
        if not batch.lines.filter(number=number).exists():
            raise


def _verdict(batch: ResultBatch, text: str, *, at: dt.datetime) -> Verdict:
    """What comes of the line: its record is stored, or judged only in a dry run."""
    try:
        with transaction.atomic():
            value = loads(text)
            return _judged(batch, value, at=at) if batch.dry_run else _stored(batch, value, at=at)
    except UnusableBody as unusable:
        errors = [
            {"pointer": p.pointer, "code": p.code, "detail": p.says} for p in unusable.problems
        ]
        return Verdict("refused", code="invalid_body", says=str(unusable), errors=errors)
    except Refused as refused:
        return Verdict("refused", code=refused.code, says=refused.says)


def _stored(batch: ResultBatch, value: object, *, at: dt.datetime) -> Verdict:
    by = Actor("lab", str(batch.lab_id))
    received = posted_records.receive(lab_id=batch.lab_id, value=value, at=at, by=by)
    record = received.record
    outcome = "already_held" if not received.new else "stored"
    if received.new and record.state == "held":
        outcome = "held"
    says = "; ".join(record.answer["reasons"])
    return Verdict(outcome, record.lab_reference, record.verdict, says=says)


def _judged(batch: ResultBatch, value: object, *, at: dt.datetime) -> Verdict:
    body, cylinder = posted_records.look(lab_id=batch.lab_id, value=value, at=at)
    on = timezone.localdate(at)
    judged = for_lab.judged(lab_id=batch.lab_id, cylinder=cylinder, body=body, on=on)
    says = "; ".join(judged.reasons)
    return Verdict("judged", body.lab_reference, judged.verdict.value, says=says)
