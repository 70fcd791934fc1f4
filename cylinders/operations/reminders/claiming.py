"""Take messages in hand, one sweeper at a time, and take back what a dead sweeper held.

A claim is a lease with a random token. Whoever lets it run out loses the rows: what was only
claimed was certainly not sent and is planned again; what was already going may have gone, and is
**unsure** until it goes once more, a quarter of an hour after it began, under the same Message-ID.
"""

import datetime as dt
import secrets
from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db import transaction
from django.db.models import Q, QuerySet

from cylinders import history
from cylinders.facts import NoticeUnsure
from cylinders.models import Customer, Cylinder, MessageKind, Notice, NoticeState
from cylinders.operations.reminders.letters import SWEEP
from cylinders.queries.shop_day import ShopDay

LEASE = dt.timedelta(seconds=120)
#: With the lease before and a sweep a minute: what may not have gone has gone in 15 minutes.
UNSURE_FOR = dt.timedelta(minutes=10)
#: Each customer's messages are claimed together, so that they make one.
CUSTOMERS_AT_ONCE = 100


@dataclass(frozen=True, slots=True)
class Group:
    """Rows that go as one message; ``message_id`` is set where it goes for the second time."""

    customer_id: int
    kind: MessageKind
    channel: str
    rows: tuple[int, ...]
    message_id: str = ""


@dataclass(slots=True)
class Claim:
    """What one sweeper holds until its lease runs out."""

    token: str
    groups: list[Group] = field(default_factory=list)


def take_back(*, at: dt.datetime) -> int:
    """End leases that have run out; returns how many messages became unsure by that."""
    over = Notice.objects.filter(lease_until__lt=at)
    over.filter(state=NoticeState.CLAIMED, message_id="").update(
        state=NoticeState.PLANNED, lease_token="", lease_until=None
    )
    # A second attempt that never began is as unsure as it was before.
    over.filter(state=NoticeState.CLAIMED).update(
        state=NoticeState.UNSURE, lease_token="", lease_until=None
    )
    going = over.filter(state=NoticeState.SENDING)
    names = list(going.order_by("message_id").values_list("message_id", flat=True).distinct())
    return sum(_unsure(name, at=at) for name in names)


@transaction.atomic
def _unsure(message_id: str, *, at: dt.datetime) -> int:
    over = Notice.objects.filter(message_id=message_id, lease_until__lt=at)
    rows = over.filter(state=NoticeState.SENDING).order_by("cylinder_id", "pk")
    cylinders = lock_cylinders(rows)
    count = 0
    for row in rows.select_for_update():
        row.state, row.settled_at = NoticeState.UNSURE, at
        row.save(update_fields=["state", "settled_at"])
        note = NoticeUnsure(row.pk, row.duty, row.due.isoformat(), row.channel)
        history.append(cylinders[row.cylinder_id], note, at=at, by=SWEEP)
        count += 1
    return count


@transaction.atomic
def claim(*, kind: MessageKind, at: dt.datetime, day: ShopDay) -> Claim:
    """Claim what is to go to a few customers; empty when there is nothing.

    A customer who was sent a reminder today, or whose message is still under way, waits: one
    message a customer and day. Two sweepers never hold rows of one customer: the customer's row is
    locked while the claim is made (skipped by others on PostgreSQL, one at a time on SQLite).
    """
    token = secrets.token_hex(16)
    ready = _ready(kind, at=at, day=day)
    chosen = list(
        Customer.objects.select_for_update(skip_locked=True, no_key=True)
        .filter(pk__in=ready.values("customer_id"))
        .exclude(pk__in=_busy(kind, day))
        .order_by("pk")
        .values_list("pk", flat=True)[:CUSTOMERS_AT_ONCE]
    )
    # Asked again under the lock: another sweeper may have sent and let go in between.
    free = set(chosen) - set(_busy(kind, day).filter(customer_id__in=chosen))
    rows = list(ready.filter(customer_id__in=free).select_for_update().order_by("pk"))
    if kind is MessageKind.REMINDERS:  # one message a day, also where the channel has changed
        first: dict[int, str] = {}
        rows = [
            row for row in rows if first.setdefault(row.customer_id, row.channel) == row.channel
        ]
    return _hold(rows, kind=kind, token=token, at=at)


@transaction.atomic
def claim_unsure(*, kind: MessageKind, at: dt.datetime) -> Claim:
    """Claim messages that have been unsure for long enough, to send them once more."""
    token = secrets.token_hex(16)
    old = Notice.objects.filter(state=NoticeState.UNSURE, settled_at__lte=at - UNSURE_FOR)
    names = list(_of_kind(old, kind).order_by("pk").values_list("message_id", flat=True)[:1])
    rows = list(old.filter(message_id__in=names).select_for_update(skip_locked=True).order_by("pk"))
    return _hold(rows, kind=kind, token=token, at=at)


def waiting(*, at: dt.datetime, day: ShopDay) -> int:
    """How many customers have a message that may go now, news and reminders counted apart."""
    ready = (
        _ready(kind, at=at, day=day).exclude(customer_id__in=_busy(kind, day))
        for kind in MessageKind
    )
    return sum(rows.values("customer_id").distinct().count() for rows in ready)


def let_go(held: Claim, groups: Iterable[Group]) -> None:
    """Give back groups that this sweeper will not come to."""
    for group in groups:
        state = NoticeState.UNSURE if group.message_id else NoticeState.PLANNED
        Notice.objects.filter(
            pk__in=group.rows, state=NoticeState.CLAIMED, lease_token=held.token
        ).update(state=state, lease_token="", lease_until=None)


def lock_cylinders(rows: QuerySet[Notice]) -> dict[int, Cylinder]:
    """Lock the cylinders of ``rows``, lowest number first, so that nobody waits in a ring."""
    numbers = sorted(set(rows.values_list("cylinder_id", flat=True)))
    return {number: history.lock(number) for number in numbers}


def _ready(kind: MessageKind, *, at: dt.datetime, day: ShopDay) -> QuerySet[Notice]:
    waiting = Notice.objects.filter(state=NoticeState.PLANNED, send_on__lte=day.on)
    due = waiting.filter(Q(not_before__isnull=True) | Q(not_before__lte=at))
    return _of_kind(due, kind)


def _busy(kind: MessageKind, day: ShopDay) -> QuerySet[Notice, int]:
    under_way = [NoticeState.CLAIMED, NoticeState.SENDING, NoticeState.UNSURE]
    busy = Q(state__in=under_way)
    if kind is MessageKind.REMINDERS:
        today = Q(settled_at__gte=day.begins, settled_at__lt=day.ends)
        busy |= Q(state=NoticeState.SENT) & today
    return _of_kind(Notice.objects.filter(busy), kind).values_list("customer_id", flat=True)


def _of_kind(rows: QuerySet[Notice], kind: MessageKind) -> QuerySet[Notice]:
    return rows.exclude(occasion="") if kind is MessageKind.VISIT else rows.filter(occasion="")


def _hold(rows: list[Notice], *, kind: MessageKind, token: str, at: dt.datetime) -> Claim:
    by_message: dict[tuple[int, str, str, str], list[int]] = {}
    for row in rows:
        together = (row.customer_id, row.channel, row.occasion, row.message_id)
        by_message.setdefault(together, []).append(row.pk)
    Notice.objects.filter(pk__in=[row.pk for row in rows]).update(
        state=NoticeState.CLAIMED, lease_token=token, lease_until=at + LEASE
    )
    groups = [
        Group(customer_id, kind, channel, tuple(pks), message_id)
        for (customer_id, channel, _, message_id), pks in by_message.items()
    ]
    return Claim(token, groups)
