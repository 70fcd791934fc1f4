"""A lab's keys: made and shown once, checked at each request, ended at once.

A key reads ``<prefix>.<secret>``. The prefix finds the row; of the secret (256 random bits) only
the SHA-256 digest is kept, which is enough for a secret that nobody can guess (OWASP ASVS 5.0.0,
V6.5.2). Which part of a key was wrong is never told to somebody who does not hold it.
"""

import datetime as dt
import hashlib
import hmac
import re
import secrets
from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from api.models import LabKey
from cylinders.models import Lab
from cylinders.rules.refusal import Refused

#: Prefixes are read aloud and typed; the letters that look like digits are left out.
_LETTERS = "abcdefghjkmnpqrstvwxyz23456789"
_PREFIX_LENGTH = 8
_SECRET_BYTES = 32
_FORM = re.compile(r"[a-z0-9]{8}\.[A-Za-z0-9_-]{43}", re.ASCII)
#: One key in use and one to change over to.
MOST_LIVE = 2
LIFETIME = dt.timedelta(days=365)
#: The last use is kept to the minute: a request that only reads should seldom have to write.
_LAST_USE_STEP = dt.timedelta(minutes=1)
_NOBODY = hashlib.sha256(b"no key has this digest").hexdigest()


class Scope(StrEnum):
    """What a key may be used for."""

    WRITE_RESULTS = "results:write"
    READ_RESULTS = "results:read"
    READ_CYLINDERS = "cylinders:read"
    READ_EVENTS = "events:read"
    WRITE_WEBHOOKS = "webhooks:write"


ALL_SCOPES = tuple(scope.value for scope in Scope)


@dataclass(frozen=True, slots=True)
class Issued:
    """A fresh key; ``text`` is what the lab gets, and nobody can read it a second time."""

    key: LabKey
    text: str


@transaction.atomic
def issue(
    *,
    lab_id: int,
    at: dt.datetime,
    scopes: Collection[str] = ALL_SCOPES,
    lifetime: dt.timedelta = LIFETIME,
) -> Issued:
    """Make a key for a lab.

    Raises :class:`Refused` for an unknown lab or scope, and when two keys of that lab are live
    already: one of them must be revoked first.
    """
    lab = Lab.objects.select_for_update().filter(pk=lab_id).first()
    if lab is None:
        raise Refused("unknown_lab", _("There is no lab %(lab_id)s.") % {"lab_id": lab_id})
    unknown = sorted(set(scopes) - set(ALL_SCOPES))
    if unknown or not scopes:
        raise Refused(
            "unknown_scope",
            _("No such scope: %(unknown)s. One of: %(all_scopes)s.")
            % {"unknown": unknown, "all_scopes": ", ".join(ALL_SCOPES)},
        )
    if live(lab_id=lab_id, at=at).count() >= MOST_LIVE:
        raise Refused(
            "two_live_keys",
            _("%(lab)s holds %(most_live)s live keys. Revoke the one that is no longer used.")
            % {"lab": lab.name, "most_live": MOST_LIVE},
        )
    prefix = "".join(secrets.choice(_LETTERS) for _ in range(_PREFIX_LENGTH))
    secret = secrets.token_urlsafe(_SECRET_BYTES)
    key = LabKey.objects.create(
        lab=lab,
        prefix=prefix,
        digest=_digest(secret),
        scopes=sorted(set(scopes)),
        made_at=at,
        expires_at=at + lifetime,
    )
    return Issued(key=key, text=f"{prefix}.{secret}")


def check(text: str, *, at: dt.datetime) -> LabKey:
    """Return the live key that ``text`` is, and note its use.

    Raises :class:`Refused`: ``wrong_key`` for anything but a whole key of ours, ``key_revoked`` and
    ``key_expired`` for one that was ours; its holder may know.
    """
    prefix, _dot, secret = text.partition(".")
    known = _FORM.fullmatch(text) is not None
    key = LabKey.objects.select_related("lab").filter(prefix=prefix).first() if known else None
    same = hmac.compare_digest(_digest(secret), key.digest if key else _NOBODY)
    if key is None or not same:
        raise Refused(
            "wrong_key", _("That is no key of this service. Copy it whole, with the dot.")
        )
    return still_live(key, at=at)


def still_live(key: LabKey, *, at: dt.datetime) -> LabKey:
    """Return ``key`` with its use noted, or raise :class:`Refused` when it has ended."""
    if key.revoked_at and key.revoked_at <= at:
        raise Refused("key_revoked", _("That key was revoked. Ask the shop for a new one."))
    if key.expires_at <= at:
        raise Refused(
            "key_expired",
            _("That key ran out on %(expires_at)s. Ask anew.")
            % {"expires_at": format(key.expires_at, "%Y-%m-%d")},
        )
    if key.last_used_at is None or at - key.last_used_at >= _LAST_USE_STEP:
        LabKey.objects.filter(pk=key.pk).update(last_used_at=at)
        key.last_used_at = at
    return key


def revoke(*, prefix: str, at: dt.datetime) -> LabKey:
    """End a key now; raises :class:`Refused` when no live key has that prefix."""
    ended = LabKey.objects.filter(prefix=prefix, revoked_at__isnull=True).update(revoked_at=at)
    if not ended:
        raise Refused(
            "unknown_key", _("No live key begins with %(prefix)s.") % {"prefix": repr(prefix)}
        )
    return LabKey.objects.get(prefix=prefix)


def live(*, lab_id: int, at: dt.datetime) -> QuerySet[LabKey]:
    """The keys of a lab that open something now, oldest first."""
    ended = Q(revoked_at__lte=at) | Q(expires_at__lte=at)
    return LabKey.objects.filter(lab_id=lab_id).exclude(ended).order_by("made_at", "pk")


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
