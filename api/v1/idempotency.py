"""A post that is sent twice is done once and answered twice with the same bytes.

The answer is stored in the transaction of what the post did, so there is no moment at which one is
kept without the other. A second post with the same key waits for the first on the database's own
lock. What was refused stored nothing: the same key may then be used again, also with a mended body.
"""

import datetime as dt
import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass

from django.db import IntegrityError, OperationalError, connection, transaction
from django.db.models import QuerySet
from rest_framework.request import Request

from api.models import ReceivedPost
from api.problems import Problem
from api.v1 import answers
from api.v1.answers import Answer

#: How long an answer is kept; the lab's own reference protects for ever.
KEPT = dt.timedelta(days=400)
#: How long a second post waits for the first, in milliseconds.
PATIENCE_MS = 5_000
_LONGEST = 255
#: A structured-field string (RFC 9651 section 3.3.3), or the same without quotes.
_QUOTED = re.compile(r'"((?:[ !#-\[\]-~]|\\["\\])*)"', re.ASCII)
_BARE = re.compile(r"[!#-+\--:<-\[\]-~]+", re.ASCII)


@dataclass(frozen=True, slots=True)
class Post:
    """What makes two requests the same: lab, method, path and key; ``body`` is the whole text."""

    lab_id: int
    method: str
    path: str
    key: str
    body: str

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the body."""
        return hashlib.sha256(self.body.encode()).hexdigest()


def key_of(request: Request) -> str:
    """The key in the header Idempotency-Key, without its quotes; raises :class:`Problem` (400).

    Two such headers reach this place as one with a comma between, which is no bare key.
    """
    header = request.headers.get("Idempotency-Key")
    if header is None:
        raise Problem("idempotency_key_missing", "Send a fresh Idempotency-Key with each record.")
    text = header.strip(" \t")
    quoted = _QUOTED.fullmatch(text)
    key = re.sub(r"\\(.)", r"\1", quoted[1]) if quoted else text
    if not key.strip() or len(key) > _LONGEST or not (quoted or _BARE.fullmatch(text)):
        says = f"Send one Idempotency-Key of 1 to {_LONGEST} plain symbols."
        raise Problem("idempotency_key_malformed", says)
    return key


@transaction.atomic
def once(post: Post, act: Callable[[], Answer], *, at: dt.datetime) -> Answer:
    """Do ``act`` and keep its answer, or give the answer that was kept.

    Raises :class:`Problem`: 422 when the key came with another body before, 409 when the first post
    is still being worked on. Whatever ``act`` raises leaves nothing behind.
    """
    _wait_no_longer()
    kept = _rows(post).first()
    if kept is None:
        try:
            with transaction.atomic():
                row = ReceivedPost.objects.create(
                    lab_id=post.lab_id,
                    method=post.method,
                    path=post.path,
                    key=post.key,
                    fingerprint=post.fingerprint,
                    received_at=at,
                    status=0,
                    answer="",
                    content_type=answers.MEDIA_TYPE,
                )
        except IntegrityError:
            kept = _rows(post).get()
        except OperationalError as busy:
            says = "The first post with this key is being worked on."
            raise Problem("request_in_flight", says, headers={"Retry-After": "2"}) from busy
    if kept is not None:
        return _again(kept, post)
    answer = act()
    row.status, row.answer, row.location = answer.status, answer.text, answer.location
    row.save(update_fields=["status", "answer", "location"])
    return answer


def forget(*, before: dt.datetime) -> int:
    """Drop the answers kept since before then; returns how many."""
    dropped, _by_model = ReceivedPost.objects.filter(received_at__lt=before).delete()
    return dropped


def _rows(post: Post) -> QuerySet[ReceivedPost]:
    return ReceivedPost.objects.filter(
        lab_id=post.lab_id, method=post.method, path=post.path, key=post.key
    )


def _again(kept: ReceivedPost, post: Post) -> Answer:
    if kept.fingerprint != post.fingerprint:
        raise Problem(
            "idempotency_key_reused",
            f"This key came with another body on {kept.received_at:%Y-%m-%d}.",
        )
    return Answer(kept.status, kept.answer, kept.location)


def _wait_no_longer() -> None:
    """Bound the wait on PostgreSQL; SQLite bounds it by the timeout of its connection."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT set_config('lock_timeout', %s, true)", [f"{PATIENCE_MS}ms"])
