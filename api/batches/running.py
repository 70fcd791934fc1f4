"""Take a batch and do what is left of it, so many lines in one transaction.

The lines' records and their verdicts are stored together, so a line is never done and not noted,
nor noted and not done. Whoever dies leaves the rest to the next one, who may be anybody.
"""

import datetime as dt
import hashlib
import logging
from collections.abc import Callable, Iterator, Sequence

from django.db import InterfaceError, OperationalError, transaction

from api import posted_records
from api.batches import verdicts
from api.batches.files import File
from api.models import BatchLine, ResultBatch
from cylinders.facts import Actor
from cylinders.rules.refusal import Refused

log = logging.getLogger(__name__)
MOST_BYTES = 8_000_000
MOST_LINES = 10_000
#: Lines of one transaction; who wants all or none waits for the longer one.
AT_ONCE, MOST_WHOLE = 200, 2_000
_NOTHING_STORED = (BatchLine.Outcome.REFUSED, BatchLine.Outcome.KEPT_BACK)


def take(
    *, lab_id: int, content: File | str, dry_run: bool, at: dt.datetime, whole: bool = False
) -> tuple[ResultBatch, bool]:
    """Keep a file as a batch; returns it and whether it is new. The same content is the same batch.

    A batch that is finished and stored nothing (a dry run, or all refused) is done anew: what stood
    in its way may be gone. Raises :class:`Refused`: ``empty_batch``, ``batch_too_long``.
    """
    file = File(content) if isinstance(content, str) else content
    total = sum(1 for _ in lines_of(file.content))
    most = MOST_WHOLE if whole else MOST_LINES
    if not total:
        raise Refused("empty_batch", "The file has no line.")
    if total > most:
        raise Refused("batch_too_long", f"{total} lines; send at most {most} at once.")
    with transaction.atomic():
        batch, new = ResultBatch.objects.select_for_update().get_or_create(
            lab_id=lab_id,
            digest=hashlib.sha256(file.content.encode()).hexdigest(),
            dry_run=dry_run,
            whole=whole,
            defaults={
                "content": file.content,
                "source": file.source,
                "mapping": file.mapping,
                "total": total,
                "received_at": at,
            },
        )
        return batch, new or _begun_anew(batch, at=at)


def _begun_anew(batch: ResultBatch, *, at: dt.datetime) -> bool:
    """Forget the verdicts of a finished batch that stored nothing; whether it was such a one."""
    if not batch.finished_at:
        return False
    if not batch.dry_run and batch.lines.exclude(outcome__in=_NOTHING_STORED).exists():
        return False
    batch.lines.all().delete()
    batch.received_at, batch.finished_at = at, None
    batch.save(update_fields=["received_at", "finished_at"])
    return True


def lines_of(content: str) -> Iterator[tuple[int, str]]:
    """``(number, text)`` of each line that is not blank; only LF and CR LF end a line."""
    for number, line in enumerate(content.split("\n"), start=1):
        if line.strip():
            yield number, line.removesuffix("\r")


def go_on(*, batch_id: int, now: Callable[[], dt.datetime], until: dt.datetime) -> bool:
    """Do the lines that are left, until the moment ``until``; whether the batch is finished."""
    while now() < until:
        if _next_lines(batch_id, at=now()):
            return True
    return not ResultBatch.objects.filter(pk=batch_id, finished_at=None).exists()


def unfinished() -> list[int]:
    """The numbers of the batches that wait for somebody, oldest first."""
    waiting = ResultBatch.objects.filter(finished_at__isnull=True).order_by("pk")
    return list(waiting.values_list("pk", flat=True))


@transaction.atomic
def _next_lines(batch_id: int, *, at: dt.datetime) -> bool:
    """Do the next lines in one transaction, and say whether that was the end of the batch.

    The batch's own row makes two workers take turns.
    """
    batch = ResultBatch.objects.select_for_update().get(pk=batch_id)
    if batch.finished_at:
        return True
    done = set(batch.lines.values_list("number", flat=True))
    left = [line for line in lines_of(batch.content) if line[0] not in done]
    now = left if batch.whole else left[:AT_ONCE]
    BatchLine.objects.bulk_create(_noted(batch, now, at=at))
    if len(now) == len(left):
        ResultBatch.objects.filter(pk=batch_id).update(finished_at=at)
        if not batch.dry_run:
            posted_records.forget()
        return True
    return False


def _noted(
    batch: ResultBatch, lines: Sequence[tuple[int, str]], *, at: dt.datetime
) -> list[BatchLine]:
    """Do these lines; a dry run, and a batch of all or none with a bad line, is undone again."""
    noted: list[BatchLine] = []
    with transaction.atomic():
        each = _received(batch, [text for _number, text in lines], at=at)
        for (number, _text), came in zip(lines, each, strict=True):
            noted.append(verdicts.line_of(batch, number, came))
        failed = batch.whole and any(verdicts.keeps_back(line) for line in noted)
        transaction.set_rollback(batch.dry_run or failed)
    return verdicts.kept_back(noted) if failed else noted


def _received(
    batch: ResultBatch, texts: Sequence[str], *, at: dt.datetime
) -> Sequence[verdicts.Came]:
    """All at once; where the service itself is at fault, one by one, and that one is named."""
    by = Actor("lab", str(batch.lab_id))
    try:
        with transaction.atomic():
            return posted_records.receive_many(lab_id=batch.lab_id, texts=texts, at=at, by=by)
    except (OperationalError, InterfaceError):
        raise  # the database is away: the whole is done again by whoever comes next
    except Exception:
        log.exception("batch %s: a fault of ours among %s lines", batch.pk, len(texts))
        if len(texts) == 1:
            return [_OUR_FAULT]
    return [_received(batch, [text], at=at)[0] for text in texts]


_OUR_FAULT = Refused(
    "internal",
    "A fault of ours stopped this line; the others are not touched by it. It is in the shop's log. "
    "Send the line again in a file of its own, or tell the shop.",
)
