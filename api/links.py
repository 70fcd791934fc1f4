"""A customer's link: shown once, kept as a digest, opened by whoever holds it, until it ends.

A token is 160 random bits in 32 symbols of the tags' alphabet, so it can be read from paper. It is
no password that a person chose, so one SHA-256 keeps it (OWASP ASVS 5.0.0, V6.5.2). A link also
ends, without anything being done, when the cylinder no longer belongs to whom it was given.
"""

import datetime as dt
import hashlib
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet
from django.urls import reverse

from api.models import StatusLink
from cylinders import history
from cylinders.facts import Actor, Kind, LinkIssued, LinkRevoked
from cylinders.models import Cylinder
from cylinders.operations import handover
from cylinders.rules.refusal import Refused
from labels import codes

TOKEN_BITS = 160
_SYMBOLS = TOKEN_BITS // 5
#: Longer than the yearly visual inspection, so the last link works until the next one is made.
LIFETIME = dt.timedelta(days=400)
_LONGEST_INPUT = 80
#: What mail programs leave at the end of an address.
_TRAILING = ".,;:!?)]}>'\""


@dataclass(frozen=True, slots=True)
class Issued:
    """A fresh link and its token; nobody can read the token a second time."""

    link: StatusLink
    token: str

    @property
    def address(self) -> str:
        """The address to give to the customer, on the host that the settings name."""
        return address_of(self.token)


class Ended(StrEnum):
    """Why a link that was once given opens nothing."""

    EXPIRED = "expired"
    REVOKED = "revoked"
    SOLD = "sold"


def address_of(token: str) -> str:
    """The public address of the page behind ``token``."""
    return f"{settings.PUBLIC_URL}{reverse('status', args=[token])}"


@transaction.atomic
def issue(
    *,
    cylinder_id: int,
    at: dt.datetime,
    by: Actor,
    lifetime: dt.timedelta = LIFETIME,
) -> Issued:
    """Give the present owner of a cylinder a link to its story; other links stay as they are."""
    cylinder = history.lock(cylinder_id)
    number = secrets.randbits(TOKEN_BITS)
    token = "".join(
        codes.ALPHABET[number >> shift & 31] for shift in range(TOKEN_BITS - 5, -1, -5)
    ).lower()
    link = StatusLink.objects.create(
        cylinder=cylinder,
        customer_id=cylinder.owner_id,
        digest=digest(token),
        made_at=at,
        expires_at=at + lifetime,
    )
    facts = LinkIssued(link=link.pk, expires=_seconds(link.expires_at))
    history.append(cylinder, facts, at=at, by=by)
    return Issued(link, token)


@transaction.atomic
def revoke(*, link_id: int, reason: str, at: dt.datetime, by: Actor) -> StatusLink:
    """End one link; the others go on. Raises :class:`Refused` when it has been revoked already."""
    cylinder_id = (
        StatusLink.objects.filter(pk=link_id).values_list("cylinder_id", flat=True).first()
    )
    if cylinder_id is None:
        raise Refused("unknown_link", "There is no such link.")
    if not reason.strip():
        raise Refused("no_reason", "Write why the link is ended.")
    cylinder = history.lock(cylinder_id)
    link = StatusLink.objects.select_for_update().get(pk=link_id)
    if link.revoked_at is not None:
        raise Refused("revoked", "That link has been revoked already.")
    _revoke(link, cylinder, reason, at=at, by=by)
    return link


@transaction.atomic
def revoke_all(*, cylinder_id: int, reason: str, at: dt.datetime, by: Actor) -> int:
    """End every link to a cylinder; returns how many were still open."""
    cylinder = history.lock(cylinder_id)
    links = StatusLink.objects.filter(cylinder=cylinder, revoked_at__isnull=True)
    count = 0
    for link in links.select_for_update().order_by("pk"):
        _revoke(link, cylinder, reason, at=at, by=by)
        count += 1
    return count


@transaction.atomic
def change_owner(*, cylinder_id: int, owner_id: int, at: dt.datetime, by: Actor) -> Cylinder:
    """Record the new owner and end every link of the old one, together or not at all."""
    handover.change_owner(cylinder_id=cylinder_id, owner_id=owner_id, at=at, by=by)
    revoke_all(cylinder_id=cylinder_id, reason="owner changed", at=at, by=by)
    return Cylinder.objects.get(pk=cylinder_id)


def open_link(text: str, *, at: dt.datetime) -> StatusLink | Ended | None:
    """The link that ``text`` opens at ``at``, why it opens nothing any more, or None if unknown.

    Case, hyphens, look-alike letters and what a mail program left at the end are forgiven;
    everything else is another token. Blanks are not: logs would show the token's second half.
    """
    token = read(text)
    if token is None:
        return None
    found = StatusLink.objects.select_related("cylinder__owner", "customer")
    link = found.filter(digest=digest(token)).first()
    if link is None:
        return None
    if link.revoked_at is not None or link.customer.erased_at is not None:
        return Ended.REVOKED
    if link.customer_id != link.cylinder.owner_id:
        return Ended.SOLD
    return Ended.EXPIRED if link.expires_at <= at else link


def problems() -> Iterator[str]:
    """Each link whose row does not say what the histories say of it, as a sentence."""
    told: dict[int, tuple[int, str, bool]] = {}
    kinds = (Kind.LINK_ISSUED, Kind.LINK_REVOKED)
    for _place, cylinder, event in history.since(0, cylinders=None, kinds=kinds):
        number = event.facts["link"]
        expires = event.facts.get("expires") or told.get(number, (0, "", False))[1]
        told[number] = (cylinder, expires, event.kind is Kind.LINK_ISSUED)
    rows = StatusLink.objects.values_list("pk", "cylinder", "expires_at", "revoked_at")
    stored = {
        pk: (cylinder, _seconds(expires), revoked is None)
        for pk, cylinder, expires, revoked in rows
    }
    for number in sorted(stored.keys() | told.keys()):
        row, said = stored.get(number), told.get(number)
        if row != said:
            yield f"link {number}: stored as {row!r}, but the history says {said!r}"


def cylinders_of(link: StatusLink) -> QuerySet[Cylinder]:
    """What a link shows: every cylinder that belongs to whom it was given, its own among them.

    One that has been sold since is not among them, and a link ends with its own cylinder.
    """
    return Cylinder.objects.filter(owner_id=link.customer_id).order_by("pk")


def cylinder_behind(link: StatusLink, number: int | None) -> Cylinder | None:
    """The cylinder of that number if the link shows it, else None; without one the link's own."""
    if number is None:
        return link.cylinder
    return cylinders_of(link).select_related("owner").filter(pk=number).first()


def read(text: str) -> str | None:
    """The token that ``text`` means, in lower case, or None where it can be none."""
    if len(text) > _LONGEST_INPUT or len(text.split()) != 1:
        return None
    symbols = codes.fold(text.rstrip(_TRAILING))
    if len(symbols) != _SYMBOLS or not set(symbols) <= set(codes.ALPHABET):
        return None
    return symbols.lower()


def digest(token: str) -> str:
    """The SHA-256 of a token, as it is kept."""
    return hashlib.sha256(token.encode()).hexdigest()


def _seconds(at: dt.datetime) -> str:
    return at.astimezone(dt.UTC).isoformat(timespec="seconds")


def _revoke(
    link: StatusLink, cylinder: Cylinder, reason: str, *, at: dt.datetime, by: Actor
) -> None:
    link.revoked_at = at
    link.save(update_fields=["revoked_at"])
    history.append(cylinder, LinkRevoked(link=link.pk, reason=reason), at=at, by=by)
