"""One message: look once more whether it may go, mark it as going, hand it over, note its fate."""

import datetime as dt
import logging
from collections.abc import Callable
from dataclasses import dataclass

from django.db import DatabaseError, transaction
from django.db.models import QuerySet

from cylinders import history
from cylinders.facts import NoticeSent, NoticeUnsure
from cylinders.models import (
    Channel,
    Customer,
    Cylinder,
    MessageKind,
    Notice,
    NoticeState,
    Shop,
)
from cylinders.operations.reminders import visits
from cylinders.operations.reminders.claiming import LEASE, Group, lock_cylinders
from cylinders.operations.reminders.handing import Fate, hand_over
from cylinders.operations.reminders.letters import (
    SWEEP,
    Letter,
    Line,
    Text,
    Writer,
    message_id,
    text_writer,
)
from cylinders.operations.reminders.reaching import cannot_reach
from cylinders.operations.reminders.reasons import Checked, Why, check_reminder
from cylinders.queries.shop_day import ShopDay
from cylinders.rules.wording import say

log = logging.getLogger(__name__)
MOST_TRIES = 5
#: Minutes to wait after the first, second ... attempt that the mail server put off.
_PUT_OFF = (1, 5, 15, 60)


@dataclass(frozen=True, slots=True)
class Going:
    """A message that is marked as going; only the holder of ``token`` may say what became of it."""

    token: str
    rows: tuple[int, ...]
    message_id: str
    again: bool
    letter: Letter | Text


@dataclass(frozen=True, slots=True)
class Delivered:
    """What became of one group: rows that went under ``fate``, rows that were withdrawn."""

    fate: Fate | None
    rows: int
    withdrawn: int


def deliver(
    group: Group, *, token: str, write: Writer, day: ShopDay, clock: Callable[[], dt.datetime]
) -> Delivered:
    """Send one group that this sweeper has claimed under ``token``."""
    try:
        going, withdrawn = prepare(group, token=token, write=write, day=day, at=clock())
    except DatabaseError:
        raise
    except Exception as problem:
        # One message that cannot be written must not keep the others from going.
        log.exception("a message could not be written; it is put aside")
        return Delivered(Fate.LATER, put_aside(group, token=token, problem=problem, at=clock()), 0)
    if going is None:
        return Delivered(None, 0, withdrawn)
    fate, why = hand_over(going.letter, message_id=going.message_id)
    rows = settle(going, fate, why, at=clock())
    return Delivered(fate, rows, withdrawn)


@transaction.atomic
def prepare(
    group: Group, *, token: str, write: Writer, day: ShopDay, at: dt.datetime
) -> tuple[Going | None, int]:
    """Check each row once more under its cylinder's lock, write the letter, mark it as going.

    Returns what is going, or None where nothing is left to say, and how many rows were withdrawn.
    Whatever was done to a cylinder before this transaction commits is seen here; so nothing is sent
    for a duty that was done first.
    """
    customer = Customer.objects.select_for_update(no_key=True).get(pk=group.customer_id)
    mine = Notice.objects.filter(
        pk__in=group.rows, state=NoticeState.CLAIMED, lease_token=token
    ).order_by("cylinder_id", "pk")
    cylinders = lock_cylinders(mine)
    lines, withdrawn = _lines(mine.select_for_update(), cylinders, customer, day=day, at=at)
    if not lines:
        return None, withdrawn
    rows = [line.notice for line in lines]
    name = group.message_id or message_id(rows)
    words = text_writer() if group.channel == Channel.TEXT else write
    letter = words(customer=customer, kind=group.kind, lines=lines, on=day.on, at=at)
    for row in rows:
        row.state, row.message_id = NoticeState.SENDING, name
        row.attempts, row.lease_until = row.attempts + 1, at + LEASE
        row.save(update_fields=["state", "message_id", "attempts", "lease_until"])
    pks = tuple(row.pk for row in rows)
    return Going(token, pks, name, bool(group.message_id), letter), withdrawn


def _lines(
    mine: QuerySet[Notice],
    cylinders: dict[int, Cylinder],
    customer: Customer,
    *,
    day: ShopDay,
    at: dt.datetime,
) -> tuple[list[Line], int]:
    shop = Shop.objects.first()
    lines, withdrawn = [], 0
    for row in mine:
        cylinder = cylinders[row.cylinder_id]
        if row.attempts >= MOST_TRIES:
            _put(
                row,
                NoticeState.FAILED,
                at=at,
                why=say("given up after {most_tries} attempts", most_tries=MOST_TRIES),
            )
            continue
        if not row.occasion and cylinder.owner_id != customer.pk:
            withdrawn += _sold(row, cylinder, at=at)
            continue
        checked = _check(row, cylinder, customer, day=day, shop=shop)
        if checked.why:
            _put(row, NoticeState.WITHDRAWN, at=at, why=checked.why)
            withdrawn += 1
        elif checked.waits and not row.message_id:
            # One that may have gone goes again at once: to wait would need another Message-ID.
            row.not_before = day.ends
            _put(row, NoticeState.PLANNED, why=say("waits until the cylinder has left the shop"))
        else:
            lines.append(Line(row, cylinder, checked.duty))
    return lines, withdrawn


def _sold(row: Notice, cylinder: Cylinder, *, at: dt.datetime) -> int:
    """Keep a reminder for the new owner, unless the old one may have it already."""
    if row.message_id:
        _put(row, NoticeState.WITHDRAWN, at=at, why=Why.SOLD)
        return 1
    row.customer_id = cylinder.owner_id
    _put(row, NoticeState.PLANNED, why="")
    return 0


def _check(
    row: Notice, cylinder: Cylinder, customer: Customer, *, day: ShopDay, shop: Shop | None
) -> Checked:
    kind = MessageKind.VISIT if row.occasion else MessageKind.REMINDERS
    unreachable = cannot_reach(customer, kind, row.channel)
    if unreachable:
        return Checked(why=unreachable)
    if row.occasion:
        return visits.check(row, cylinder)
    return check_reminder(row, cylinder, on=day.on, shop=shop)


def _put(row: Notice, state: NoticeState, *, why: str, at: dt.datetime | None = None) -> None:
    row.state, row.why, row.settled_at = state, why, at
    row.lease_until, row.lease_token = None, ""
    if state is NoticeState.PLANNED:
        row.message_id = ""
    row.save()


@transaction.atomic
def put_aside(group: Group, *, token: str, problem: Exception, at: dt.datetime) -> int:
    """Let a group wait whose message could not be written, and give it up after some attempts."""
    mine = Notice.objects.filter(
        pk__in=group.rows, state=NoticeState.CLAIMED, lease_token=token
    ).order_by("pk")
    why = say("could not be written ({name})", name=type(problem).__name__)
    count = 0
    for row in mine.select_for_update():
        row.attempts += 1
        if row.attempts >= MOST_TRIES:
            _put(row, NoticeState.FAILED, at=at, why=why)
        elif row.message_id:
            _put(row, NoticeState.UNSURE, at=at, why=why)
        else:
            row.not_before = at + _wait(row.attempts)
            _put(row, NoticeState.PLANNED, why=why)
        count += 1
    return count


@transaction.atomic
def settle(going: Going, fate: Fate, why: str, *, at: dt.datetime) -> int:
    """Note what became of a message; returns for how many rows this sweeper still could.

    A sweeper that slept past its lease finds its rows gone to another and changes nothing.
    """
    mine = Notice.objects.filter(
        pk__in=going.rows,
        lease_token=going.token,
        state__in=[NoticeState.SENDING, NoticeState.UNSURE],
    ).order_by("cylinder_id", "pk")
    cylinders = lock_cylinders(mine)
    count = 0
    for row in mine.select_for_update():
        _settle(row, cylinders[row.cylinder_id], fate, why, again=going.again, at=at)
        count += 1
        if fate is Fate.REFUSED:
            refused = "text_refused" if row.channel == Channel.TEXT else "email_bounced"
            Customer.objects.filter(pk=row.customer_id).update(**{refused: True})
    return count


def _settle(
    row: Notice, cylinder: Cylinder, fate: Fate, why: str, *, again: bool, at: dt.datetime
) -> None:
    facts = (row.pk, row.duty, row.due.isoformat(), row.channel)
    if fate is Fate.SENT:
        _put(row, NoticeState.SENT, at=at, why="")
        history.append(cylinder, NoticeSent(*facts), at=at, by=SWEEP)
    elif fate is Fate.UNSURE or (fate is Fate.LATER and again):
        # What may have gone once may not take another Message-ID: it stays unsure.
        was_unsure = row.state == NoticeState.UNSURE or fate is Fate.LATER
        _put(row, NoticeState.UNSURE, at=at, why=why)
        if not was_unsure:
            history.append(cylinder, NoticeUnsure(*facts), at=at, by=SWEEP)
    elif fate is Fate.LATER and row.attempts < MOST_TRIES:
        row.not_before = at + _wait(row.attempts)
        _put(row, NoticeState.PLANNED, why=why)
    else:
        _put(row, NoticeState.FAILED, at=at, why=why)


def _wait(attempts: int) -> dt.timedelta:
    return dt.timedelta(minutes=_PUT_OFF[min(attempts, len(_PUT_OFF)) - 1])
