"""The shop's messages: what goes out this week, what failed, what nobody can be sure of."""

import datetime as dt
from dataclasses import dataclass
from itertools import groupby

from cylinders.models import Notice, NoticeState

_DAYS_SHOWN = 7
_MOST = 200


@dataclass(frozen=True, slots=True)
class DayOut:
    """The rows that go on one day; ``on`` is never before the day that was asked about."""

    on: dt.date
    rows: tuple[Notice, ...]


@dataclass(frozen=True, slots=True)
class Messages:
    """What a person should know of; every list at most 200 long, the counts are true."""

    going: tuple[DayOut, ...]
    failed: tuple[Notice, ...]
    unsure: tuple[Notice, ...]
    sent: tuple[Notice, ...]
    sent_count: int


def messages(*, on: dt.date, since: dt.datetime) -> Messages:
    """The messages as they stand on day ``on``; what was sent is shown from ``since`` on."""
    rows = Notice.objects.select_related("cylinder", "customer")
    until = on + dt.timedelta(days=_DAYS_SHOWN)
    planned = rows.filter(
        state__in=[NoticeState.PLANNED, NoticeState.CLAIMED, NoticeState.SENDING],
        send_on__lte=until,
    ).order_by("send_on", "customer__name", "pk")[:_MOST]
    sent = rows.filter(state=NoticeState.SENT, settled_at__gte=since)
    return Messages(
        going=tuple(by_day(list(planned), on=on)),
        failed=tuple(rows.filter(state=NoticeState.FAILED).order_by("-settled_at", "-pk")[:_MOST]),
        unsure=tuple(rows.filter(state=NoticeState.UNSURE).order_by("settled_at", "pk")[:_MOST]),
        sent=tuple(sent.order_by("-settled_at", "-pk")[:_MOST]),
        sent_count=sent.count(),
    )


def by_day(rows: list[Notice], *, on: dt.date) -> list[DayOut]:
    """``rows`` day by day; what should have gone before ``on`` goes on that day."""
    ordered = sorted(rows, key=lambda row: max(row.send_on, on))
    days = groupby(ordered, key=lambda row: max(row.send_on, on))
    return [DayOut(day, tuple(group)) for day, group in days]
