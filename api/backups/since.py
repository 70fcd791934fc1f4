"""What must not come back with an old copy: who was erased, what was revoked, who said no.

The list is written beside the database each minute and only grows. It holds no personal data:
numbers of people and staff, digests of links, prefixes of keys. Keep a fresh one away from the
machine, with the copies: :func:`apply` brings a restored copy up to it before anybody sees it.
"""

import datetime as dt
import json
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User

from api import keys, links
from api.backups import numbers
from api.models import LabKey, StatusLink, Webhook
from cylinders.facts import Actor
from cylinders.models import Consent, Customer, Declined
from cylinders.operations import privacy
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

BY = Actor("service", "restore")
WORDING = "Taken back after the copy was made that was restored."
_REVOKED = "ended before, and restored"
Rows = list[Any]


def path() -> Path:
    """Where the service keeps the list."""
    return Path(settings.VAR_DIR) / "since.json"


def collect() -> dict[str, Rows]:
    """The list as the database has it now."""
    customers = Customer.objects
    asked = set(Consent.objects.values_list("customer", "channel"))
    email = set(customers.filter(email_consent=True).values_list("pk", flat=True))
    text = set(customers.filter(text_consent=True).values_list("pk", flat=True))
    agree_now = {(pk, "email") for pk in email} | {(pk, "text") for pk in text}
    return {
        "erased": _sorted(customers.filter(erased_at__isnull=False).values_list("pk", flat=True)),
        "links": _sorted(
            StatusLink.objects.filter(revoked_at__isnull=False).values_list("digest", flat=True)
        ),
        "keys": _sorted(
            LabKey.objects.filter(revoked_at__isnull=False).values_list("prefix", flat=True)
        ),
        "declined": _sorted(map(list, Declined.objects.values_list("customer", "kind"))),
        "consents": _sorted(map(list, asked - agree_now)),
        "webhooks": _sorted(
            Webhook.objects.filter(stopped_at__isnull=False).values_list("pk", flat=True)
        ),
        "staff": _sorted(User.objects.filter(is_active=False).values_list("pk", flat=True)),
    }


def write(to: Path | None = None) -> None:
    """Write the list; what only the older file has stays in it, unless it was taken back since."""
    to = to or path()
    found = collect()
    save(merged(found, read(to)) if to.exists() else found, to)


def save(found: dict[str, Rows], to: Path) -> None:
    """Put a list in the place of the one that is there: a reader gets the old one or the new."""
    unfinished = to.with_name(f".{to.name}.{os.getpid()}")
    with unfinished.open("w") as file:
        json.dump(found, file)
        file.flush()
        os.fsync(file.fileno())
    unfinished.replace(to)


def merged(newest: dict[str, Rows], *older: dict[str, Rows]) -> dict[str, Rows]:
    """The newest list, and what nothing takes back out of the older ones."""
    found = dict(newest)
    for name in ("erased", "links", "keys"):
        found[name] = _sorted({*newest[name], *(row for one in older for row in one[name])})
    return found


def read(where: Path) -> dict[str, Rows]:
    """Read a list; raises :class:`Refused` (``not_a_list``)."""
    try:
        return parse(where.read_bytes())
    except (OSError, ValueError, AttributeError, TypeError) as problem:
        says = say("{file} is no list of what was erased and revoked.", file=str(where))
        raise Refused("not_a_list", says) from problem


def parse(content: bytes) -> dict[str, Rows]:
    """The list that a file holds; a kind that it does not know yet is empty."""
    found = json.loads(content)
    return {name: list(found.get(name, [])) for name in _APPLY}


def apply(found: dict[str, Rows], *, at: dt.datetime) -> dict[str, int]:
    """Bring the database up to the list; returns how many of each were done anew.

    A number in the list that the copy does not know is never given to anybody else.
    """
    again = {name: sum(act(row, at) for row in found[name]) for name, act in _APPLY.items()}
    people = [*found["erased"], *(row[0] for row in found["declined"] + found["consents"])]
    numbers.number_behind(Customer, people)
    numbers.number_behind(Webhook, found["webhooks"])
    numbers.number_behind(User, found["staff"])
    return again


def _erase(number: int, at: dt.datetime) -> int:
    return int(privacy.erase_again(customer_id=number, at=at, by=BY))


def _end_link(digest: str, at: dt.datetime) -> int:
    link = StatusLink.objects.filter(digest=digest, revoked_at__isnull=True).first()
    if link is None:
        return 0
    links.revoke(link_id=link.pk, reason=_REVOKED, at=at, by=BY)
    return 1


def _end_key(prefix: str, at: dt.datetime) -> int:
    try:
        keys.revoke(prefix=prefix, at=at)
    except Refused:  # revoked in the copy too, or made after it
        return 0
    return 1


def _decline(row: list[Any], at: dt.datetime) -> int:
    number, kind = row
    if not Customer.objects.filter(pk=number).exists():
        return 0
    _row, new = Declined.objects.get_or_create(customer_id=number, kind=kind, defaults={"at": at})
    return int(new)


def _take_back(row: list[Any], at: dt.datetime) -> int:
    number, channel = row
    agreed = Customer.objects.filter(pk=number, **{f"{channel}_consent": True})
    if not agreed.update(**{f"{channel}_consent": False}):
        return 0
    Consent.objects.create(
        customer_id=number, channel=channel, given=False, wording=WORDING, at=at, by=str(BY)
    )
    return 1


def _stop(number: int, at: dt.datetime) -> int:
    live = Webhook.objects.filter(pk=number, stopped_at__isnull=True)
    return live.update(stopped_at=at, stopped_why=_REVOKED)


def _bar(number: int, _at: dt.datetime) -> int:
    return User.objects.filter(pk=number, is_active=True).update(is_active=False)


_APPLY: dict[str, Callable[[Any, dt.datetime], int]] = {
    "erased": _erase,
    "links": _end_link,
    "keys": _end_key,
    "declined": _decline,
    "consents": _take_back,
    "webhooks": _stop,
    "staff": _bar,
}


def _sorted(rows: Iterable[Any]) -> Rows:
    return sorted(rows)
