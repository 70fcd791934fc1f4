"""One sweep: take back what dead sweeps held, plan, then send until nothing is left to send."""

import datetime as dt
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from cylinders.models import MessageKind, Shop
from cylinders.operations.reminders.claiming import (
    CUSTOMERS_AT_ONCE,
    Claim,
    claim,
    claim_unsure,
    let_go,
    take_back,
    waiting,
)
from cylinders.operations.reminders.handing import Fate
from cylinders.operations.reminders.indexing import look_again
from cylinders.operations.reminders.letters import Writer, writer
from cylinders.operations.reminders.planning import plan
from cylinders.operations.reminders.sending import deliver
from cylinders.operations.reminders.visits import plan_news
from cylinders.queries.shop_day import ShopDay, shop_day, zone_of
from cylinders.rules import notices
from cylinders.rules.wording import say


@dataclass(slots=True)
class Swept:
    """What one sweep did: counts of rows, and of ``messages`` that went.

    ``put_off`` may be tried again, ``says`` tells why nothing was sent where something kept it.
    """

    on: dt.date
    planned: int = 0
    messages: int = 0
    sent: int = 0
    put_off: int = 0
    failed: int = 0
    unsure: int = 0
    withdrawn: int = 0
    says: list[str] = field(default_factory=list)


def sweep(
    *,
    now: dt.datetime,
    planning: bool = True,
    write: Writer | None = None,
    for_seconds: float | None = None,
    claims: int | None = None,
) -> Swept:
    """Take back, plan, and send what is to go.

    ``now`` is the moment it begins, with a zone; it runs on from there with the time that the sweep
    itself takes. Whether it plans or not, the index of due days follows what has happened, so that
    the lists need not ask about it themselves. With ``for_seconds`` no message is begun after that
    long, with ``claims`` only so many hundreds of customers are taken in hand; the next sweep goes
    on with what is left. Outside the shop's hours, and while the shop has paused its messages,
    nothing is sent.
    """
    shop = Shop.objects.first()
    zone = zone_of(shop)
    day = shop_day(now, zone=zone)
    swept = Swept(day.on, unsure=take_back(at=now))
    if planning:
        swept.planned = plan(on=day.on) + plan_news(at=now, zone=zone)
    else:
        look_again(on=day.on)
    if shop and shop.notices_paused:
        swept.says.append(say("Messages are paused by the shop; nothing was sent."))
        return swept
    until = now + dt.timedelta(seconds=for_seconds) if for_seconds is not None else None
    sending = _Sending(write or writer(), _running_from(now), day, until, swept, claims)
    for kind in (MessageKind.VISIT, MessageKind.REMINDERS):
        sending.run(kind)
    return swept


def hundreds_waiting(*, now: dt.datetime) -> int:
    """How many claims it takes until nothing is left that may go now; none while all is paused."""
    shop = Shop.objects.first()
    day = shop_day(now, zone=zone_of(shop))
    if (shop and shop.notices_paused) or not notices.may_send(day.local):
        return 0
    return -(-waiting(at=now, day=day) // CUSTOMERS_AT_ONCE)


@dataclass(slots=True)
class _Sending:
    write: Writer
    clock: Callable[[], dt.datetime]
    day: ShopDay
    until: dt.datetime | None
    swept: Swept
    claims: int | None

    def run(self, kind: MessageKind) -> None:
        """Send what is planned, then what has been unsure for long enough."""
        while self.may_go_on():
            held = claim(kind=kind, at=self.clock(), day=self.day)
            if not held.groups:
                held = claim_unsure(kind=kind, at=self.clock())
            if not held.groups:
                return
            self.send(held)
            self.claims = None if self.claims is None else self.claims - 1

    def send(self, held: Claim) -> None:
        for place, group in enumerate(held.groups):
            if not self.may_go_on():
                let_go(held, held.groups[place:])
                return
            done = deliver(
                group, token=held.token, write=self.write, day=self.day, clock=self.clock
            )
            self.swept.withdrawn += done.withdrawn
            if done.fate is not None:
                self.note(done.fate, done.rows)

    def note(self, fate: Fate, rows: int) -> None:
        if fate is Fate.SENT:
            self.swept.messages += 1
            self.swept.sent += rows
        elif fate is Fate.LATER:
            self.swept.put_off += rows
        elif fate is Fate.UNSURE:
            self.swept.unsure += rows
        else:
            self.swept.failed += rows

    def may_go_on(self) -> bool:
        at = self.clock()
        if self.claims == 0 or (self.until is not None and at >= self.until):
            return False
        local = at.astimezone(self.day.local.tzinfo)
        if notices.may_send(local) and local.date() == self.day.on:
            return True
        hours = say("{opens:%H:%M} to {closes:%H:%M}", opens=notices.OPENS, closes=notices.CLOSES)
        says = say(
            "It is {local:%H:%M} at the shop; messages go out from {hours}.",
            local=local,
            hours=hours,
        )
        self.swept.says = [says]
        return False


def _running_from(now: dt.datetime) -> Callable[[], dt.datetime]:
    """A clock that stood at ``now`` when it was made and runs on: true or invented, as given."""
    began = time.monotonic()
    return lambda: now + dt.timedelta(seconds=time.monotonic() - began)
