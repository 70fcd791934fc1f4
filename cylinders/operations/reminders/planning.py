"""Write down which reminders are to go: any number of times, by anybody, with the same result.

The rows are chosen and added by the database itself, from the index of due days (one statement for
each notice of each last day). What an index can get wrong is a row too many or too few; a row too
many is withdrawn when its time has come, because the rules are asked once more before it goes.
"""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from django.db import connection
from django.db.models import Exists, F, OuterRef, Q, QuerySet, Value

from cylinders.models import (
    Customer,
    KnownDue,
    Life,
    MessageKind,
    Notice,
    NoticeState,
    Shop,
    WorkOrder,
)
from cylinders.operations.reminders.indexing import look_again
from cylinders.operations.reminders.reaching import channels, reachable
from cylinders.operations.reminders.reasons import PASSING, days_for
from cylinders.queries.due import due_list
from cylinders.rules import notices
from cylinders.rules.duties import DutyKind

#: How many days ahead a reminder is written down, so that the shop sees what is going to go.
AHEAD = 7
#: rows at once after which the database's picture of the table no longer fits
MANY = 10_000


@dataclass(frozen=True, slots=True)
class _Slot:
    """One notice of one last day: the rows that differ in the cylinder only."""

    duty: str
    due: dt.date
    days_before: int
    channel: str

    @property
    def send_on(self) -> dt.date:
        return notices.send_on(self.due, self.days_before)


def plan(*, on: dt.date) -> int:
    """Plan the reminders of day ``on`` and of the days ahead; returns how many were added.

    Rows are kept apart by their key in the database, so two planners at once add each row once. A
    reminder that was withdrawn for a reason that has passed is planned again.
    """
    look_again(on=on)
    return plan_known(on=on)


def plan_known(*, on: dt.date) -> int:
    """The same from the index as it is: no rule is asked."""
    slots = list(_slots(on))
    again = _withdrawn(slots)
    added = sum(_add(slot) for slot in slots)
    if added > MANY:
        _look_anew()
    return added + sum(_revive(slot) for slot in slots if slot in again)


def _slots(on: dt.date) -> Iterator[_Slot]:
    shop = Shop.objects.first()
    for duty in sorted(kind.value for kind in DutyKind):
        days = days_for(duty, shop=shop)
        for window in notices.windows(on=on, ahead=AHEAD, days_before=days):
            known = KnownDue.objects.filter(duty=duty, due__range=(window.first, window.last))
            days_of_it = known.order_by("due").values_list("due", flat=True).distinct()
            for due in (day for day in days_of_it if day is not None):
                for channel in channels():
                    yield _Slot(duty, due, window.days_before, channel)


def _candidates(slot: _Slot) -> QuerySet[KnownDue]:
    """The entries of the index whose cylinder serves, is at home, and whose owner is reachable."""
    here = WorkOrder.objects.filter(cylinder=OuterRef("cylinder"), closed_at__isnull=True)
    return KnownDue.objects.filter(
        ~Exists(here),
        reachable(MessageKind.REMINDERS, slot.channel, prefix="cylinder__owner__"),
        duty=slot.duty,
        due=slot.due,
        cylinder__life=Life.IN_SERVICE,
    )


def _same(slot: _Slot) -> QuerySet[Notice]:
    """Rows of the same notice that stand in the way of another one.

    Day and states say nothing new: they let the database go by its index of what is to send.
    """
    return Notice.objects.filter(
        ~Q(state=NoticeState.WITHDRAWN) | Q(channel=slot.channel),
        state__in=NoticeState.values,
        send_on=slot.send_on,
        cylinder=OuterRef("cylinder"),
        duty=slot.duty,
        due=slot.due,
        days_before=slot.days_before,
        occasion="",
    )


def _add(slot: _Slot) -> int:
    values = {
        "cylinder_id": F("cylinder_id"),
        "customer_id": F("cylinder__owner_id"),
        "duty": Value(slot.duty),
        "due": F("due"),
        "days_before": Value(slot.days_before),
        "channel": Value(slot.channel),
        "occasion": Value(""),
        "send_on": Value(slot.send_on),
        "state": Value(NoticeState.PLANNED.value),
        "attempts": Value(0),
        "lease_token": Value(""),
        "message_id": Value(""),
        "why": Value(""),
    }
    rows = _candidates(slot).filter(~Exists(_same(slot)))
    chosen = rows.annotate(**{f"new_{name}": value for name, value in values.items()})
    select, parameters = chosen.values_list(
        *(f"new_{name}" for name in values)
    ).query.sql_with_params()
    columns = ", ".join(connection.ops.quote_name(name) for name in values)
    table = connection.ops.quote_name(Notice._meta.db_table)  # noqa: SLF001 - the documented way to a table's name
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {table} ({columns}) {select} ON CONFLICT DO NOTHING", parameters
        )
        return int(cursor.rowcount)


def _look_anew() -> None:
    """Let the database see how large the table has become: else the next plan may read it all."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE cylinders_notice")


def _withdrawn(slots: list[_Slot]) -> set[_Slot]:
    """Of which notices there are rows that were withdrawn for a reason that can pass."""
    rows = Notice.objects.filter(
        occasion="",
        send_on__in={slot.send_on for slot in slots},
        state=NoticeState.WITHDRAWN,
        why__in=PASSING,
    )
    names = rows.values_list("duty", "due", "days_before", "channel").distinct()
    return {_Slot(*name) for name in names}


def _revive(slot: _Slot) -> int:
    mine = Notice.objects.filter(
        duty=slot.duty,
        due=slot.due,
        days_before=slot.days_before,
        channel=slot.channel,
        occasion="",
        send_on=slot.send_on,
        state=NoticeState.WITHDRAWN,
        why__in=PASSING,
    )
    there = _candidates(slot).filter(~Exists(_other(slot))).values("cylinder_id")
    return mine.filter(cylinder_id__in=there).update(
        state=NoticeState.PLANNED, why="", message_id="", settled_at=None
    )


def _other(slot: _Slot) -> QuerySet[Notice]:
    return _same(slot).exclude(channel=slot.channel)


def outlook(*, on: dt.date, ahead: int) -> Iterator[Notice]:
    """The reminders that go on ``on`` or in the ``ahead`` days after it, as unsaved rows.

    Asks the rules themselves and writes nothing, so the shop can look a month ahead. Cylinders that
    are in the shop and owners who cannot be written to are left out.
    """
    shop = Shop.objects.first()
    furthest = max((days for days, _ in _all_days(shop)), default=0)
    in_the_shop = set(
        WorkOrder.objects.filter(closed_at__isnull=True).values_list("cylinder_id", flat=True)
    )
    channel_of = _channel_of_each()
    for item in due_list(on=on, within_days=max(furthest, 0) + ahead):
        cylinder, due = item.cylinder, item.duty.due
        if due is None or cylinder.pk in in_the_shop or cylinder.owner_id not in channel_of:
            continue
        days = days_for(item.duty.kind.value, shop=shop)
        for days_before, day in notices.coming(due, on=on, ahead=ahead, days_before=days):
            yield Notice(
                cylinder=cylinder,
                customer=cylinder.owner,
                duty=item.duty.kind.value,
                due=due,
                days_before=days_before,
                channel=channel_of[cylinder.owner_id],
                send_on=day,
            )


def _all_days(shop: Shop | None) -> Iterator[tuple[int, str]]:
    for name in ("", *(shop.notice_days if shop else {})):
        for days in days_for(name, shop=shop):
            yield days, name


def _channel_of_each() -> dict[int, str]:
    return {
        pk: channel
        for channel in channels()
        for pk in Customer.objects.filter(reachable(MessageKind.REMINDERS, channel)).values_list(
            "pk", flat=True
        )
    }
