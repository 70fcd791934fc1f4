"""A form is acted on once, however often it is sent: double tap, reload, two phones with one page.

Each page numbers its forms. The digest of that number and of everything that was sent is stored in
the transaction of the work, so of two equal posts the second waits for the first, finds its row and
is answered alike. A form that was changed before it was sent again is another form.
"""

import datetime as dt
import hashlib
import json
import secrets
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from celery import shared_task
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.http import QueryDict
from django.utils import timezone
from django.utils.datastructures import MultiValueDict

from api.models import SentForm
from api.pages import lock
from api.pages.told import Told

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile

FIELD = "once"
_NOT_CONTENT = {"csrfmiddlewaretoken", lock.FIELD}
_KEPT = dt.timedelta(days=3)


def number() -> str:
    """A number for the forms of one page that is being shown."""
    return secrets.token_urlsafe(12)


def act(
    *,
    user: User,
    path: str,
    sent: QueryDict,
    files: MultiValueDict[str, "UploadedFile[Any]"],
    at: dt.datetime,
    work: Callable[[], Told],
) -> SentForm:
    """Do ``work`` unless this very form was acted on before; return what was told either way.

    Whatever ``work`` raises leaves nothing behind, so the form may be sent again.
    """
    key = _key(user, path, sent, files)
    with transaction.atomic():
        try:
            with transaction.atomic():
                row = SentForm.objects.create(key=key, user=user, sent_at=at)
        except IntegrityError:
            return SentForm.objects.get(key=key)
        told = work()
        row.tone, row.word, row.says = told.tone.value, told.word, told.says
        row.cites, row.location = told.cites, told.goto
        row.save()
    return row


def sweep(*, now: dt.datetime) -> int:
    """Drop answers that nobody will come back for; returns how many."""
    return SentForm.objects.filter(sent_at__lt=now - _KEPT).delete()[0]


@shared_task(name="api.pages.once.forget_old_forms")
def forget_old_forms() -> None:
    """Sweep every night, though nobody signs in."""
    sweep(now=timezone.now())


def _key(
    user: User, path: str, sent: QueryDict, files: MultiValueDict[str, "UploadedFile[Any]"]
) -> str:
    content = sorted((name, sent.getlist(name)) for name in sent if name not in _NOT_CONTENT)
    digests = sorted((name, [_digest(one) for one in files.getlist(name)]) for name in files)
    text = json.dumps([user.pk, path, content, *([digests] if digests else [])])
    return hashlib.sha256(text.encode()).hexdigest()


def _digest(file: "UploadedFile[Any]") -> str:
    file.seek(0)
    return hashlib.sha256(file.read()).hexdigest()
