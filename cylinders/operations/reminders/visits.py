"""News of a visit: received, held, ready, rejected, condemned, still here. One message each.

Planned from the work orders themselves, so that no step at the bench has to think of it, and a
sweep that was down tells what is still true when it comes back.
"""

import datetime as dt
import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from cylinders.models import Cylinder, Life, MessageKind, Notice, RecordState, Shop, WorkOrder
from cylinders.operations.reminders.reaching import channels, reachable
from cylinders.operations.reminders.reasons import Checked, Why
from cylinders.queries.shop_day import shop_day, zone_of
from cylinders.rules.stages import EXITS, Stage

_OCCASION = "order "
_READY = "ready"
_HELD = "held"


@dataclass(frozen=True, slots=True)
class News:
    """One kind of news: told while the visit is at one of ``stages``.

    From ``after`` days since it came there (or since drop-off, ``since_arrival``), for ``days``.
    ``in_writing``: it is the written notice that the rule asks for, so an e-mail where one can go.
    ``record_held``: only while a lab's record of the visit waits for a person, and since it came.
    """

    name: str
    stages: frozenset[Stage]
    after: int = 0
    days: int = 14
    since_arrival: bool = False
    record_held: bool = False
    in_writing: bool = False

    def day_of(self, order: WorkOrder, zone: ZoneInfo) -> dt.date | None:
        """The civil day at the shop that the news counts from; None while it is not so."""
        if Stage(order.stage) not in self.stages:
            return None
        at: dt.datetime | None = order.opened_at if self.since_arrival else order.moved_at
        if self.record_held:
            held = order.records.filter(state=RecordState.HELD).order_by("received_at")
            at = held.values_list("received_at", flat=True).first()
        return shop_day(at, zone=zone).on if at else None


_WORKING = frozenset({Stage.RECEIVED, Stage.TORN_DOWN, Stage.AT_LAB, Stage.BACK})
NEWS = (
    News("received", _WORKING, days=2, since_arrival=True),
    News(_HELD, _WORKING, record_held=True),
    News(_READY, frozenset({Stage.READY})),
    News("rejected", frozenset({Stage.REJECTED}), days=60, in_writing=True),
    News("condemned", frozenset({Stage.CONDEMNED}), days=60, in_writing=True),
    News("still_here", frozenset({Stage.READY}) | EXITS, after=30, days=30),
)
_BY_NAME = {news.name: news for news in NEWS}


def plan_news(*, at: dt.datetime, zone: ZoneInfo) -> int:
    """Write down the news that is to be told; any number of times. Returns how many were added."""
    wanted = list(_wanted(shop_day(at, zone=zone).on, zone))
    there = set(
        Notice.objects.filter(occasion__in={row.occasion for row in wanted}).values_list(
            "occasion", "duty"
        )
    )
    missing = [row for row in wanted if (row.occasion, row.duty) not in there]
    Notice.objects.bulk_create(missing, ignore_conflicts=True)
    return len(missing)


def _wanted(on: dt.date, zone: ZoneInfo) -> Iterator[Notice]:
    here = WorkOrder.objects.filter(closed_at__isnull=True)
    ways = itertools.product(channels(), (False, True))
    for channel, in_writing in ways:
        told = reachable(MessageKind.VISIT, channel, prefix="customer__", in_writing=in_writing)
        for order in here.filter(told).order_by("cylinder_id"):
            for news in NEWS:
                day = news.day_of(order, zone) if news.in_writing is in_writing else None
                if day and news.after <= (on - day).days <= news.after + news.days:
                    yield _row(order, news, day, channel)


def _row(order: WorkOrder, news: News, day: dt.date, channel: str) -> Notice:
    return Notice(
        cylinder_id=order.cylinder_id,
        customer_id=order.customer_id,
        duty=news.name,
        due=day,
        days_before=-news.after,
        channel=channel,
        send_on=day + dt.timedelta(days=news.after),
        occasion=f"{_OCCASION}{order.pk}",
    )


def order_of(row: Notice) -> WorkOrder:
    """The visit that the news is of."""
    return WorkOrder.objects.get(pk=int(row.occasion.removeprefix(_OCCASION)))


def check(row: Notice, cylinder: Cylinder) -> Checked:
    """Whether the news still is so; ``cylinder`` is locked."""
    order = order_of(row)
    if order.cylinder_id != cylinder.pk or order.closed_at is not None:
        return Checked(why=Why.DONE)
    if row.duty == _READY and cylinder.life != Life.IN_SERVICE:
        return Checked(why=Why.LIFE)  # a late record has ended its life since
    still = _BY_NAME[row.duty].day_of(order, zone_of(Shop.objects.first())) is not None
    return Checked() if still else Checked(why=Why.LATER)
