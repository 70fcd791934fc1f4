"""Write down which reminders are to go: any number of times, by anybody, with the same result."""

import datetime as dt
from collections.abc import Iterator

from cylinders.models import Customer, Declined, MessageKind, Notice, NoticeState, Shop, WorkOrder
from cylinders.operations.reminders.reasons import PASSING, days_for
from cylinders.queries.due import due_list
from cylinders.rules import notices

#: How many days ahead a reminder is written down, so that the shop sees what is going to go.
AHEAD = 7
_AT_ONCE = 100
_Key = tuple[int, str, dt.date, int]


def plan(*, on: dt.date) -> int:
    """Plan the reminders of day ``on`` and of the days ahead; returns how many were added.

    Rows are kept apart by their key in the database, so two planners at once add each row once. A
    reminder that was withdrawn for a reason that has passed is planned again.
    """
    wanted = {_key(notice): notice for notice in outlook(on=on, ahead=AHEAD)}
    if not wanted:
        return 0
    days = [notice.send_on for notice in wanted.values()]
    there = {
        _key(notice): notice
        for notice in Notice.objects.filter(
            channel="email", occasion="", send_on__range=(min(days), max(days))
        )
    }
    missing = [wanted[key] for key in sorted(wanted.keys() - there.keys())]
    Notice.objects.bulk_create(missing, batch_size=_AT_ONCE, ignore_conflicts=True)
    again = [
        there[key].pk
        for key in wanted.keys() & there.keys()
        if there[key].state == NoticeState.WITHDRAWN and there[key].why in PASSING
    ]
    revived = Notice.objects.filter(pk__in=again, state=NoticeState.WITHDRAWN).update(
        state=NoticeState.PLANNED, why="", message_id="", settled_at=None
    )
    return len(missing) + revived


def outlook(*, on: dt.date, ahead: int) -> Iterator[Notice]:
    """The reminders that go on ``on`` or in the ``ahead`` days after it, as unsaved rows.

    Nothing is written, so the shop can look a month ahead. Cylinders that are in the shop and
    owners who cannot be written to are left out.
    """
    shop = Shop.objects.first()
    furthest = max((days for days, _ in _all_days(shop)), default=0)
    in_the_shop = set(
        WorkOrder.objects.filter(closed_at__isnull=True).values_list("cylinder_id", flat=True)
    )
    reachable = _reachable()
    for item in due_list(on=on, within_days=max(furthest, 0) + ahead):
        cylinder, due = item.cylinder, item.duty.due
        if due is None or cylinder.pk in in_the_shop or cylinder.owner_id not in reachable:
            continue
        days = days_for(item.duty.kind.value, shop=shop)
        for days_before, day in notices.coming(due, on=on, ahead=ahead, days_before=days):
            yield Notice(
                cylinder=cylinder,
                customer=cylinder.owner,
                duty=item.duty.kind.value,
                due=due,
                days_before=days_before,
                send_on=day,
            )


def _all_days(shop: Shop | None) -> Iterator[tuple[int, str]]:
    for name in ("", *(shop.notice_days if shop else {})):
        for days in days_for(name, shop=shop):
            yield days, name


def _reachable() -> set[int]:
    declined = Declined.objects.filter(kind=MessageKind.REMINDERS).values("customer_id")
    return set(
        Customer.objects.filter(email_consent=True, email_bounced=False)
        .exclude(email="")
        .exclude(pk__in=declined)
        .values_list("pk", flat=True)
    )


def _key(notice: Notice) -> _Key:
    return notice.cylinder_id, notice.duty, notice.due, notice.days_before
