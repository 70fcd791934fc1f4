"""What the shop itself may do with its messages: pause them all, stop one, try one again."""

import datetime as dt
from collections.abc import Sequence

from django.db import transaction

from cylinders.models import Customer, Notice, NoticeState, Shop
from cylinders.operations.reminders.reasons import Why
from cylinders.rules import notices
from cylinders.rules.duty import DutyKind
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

_CAN_STOP = (NoticeState.PLANNED, NoticeState.UNSURE, NoticeState.FAILED)


@transaction.atomic
def pause(*, paused: bool) -> Shop:
    """Hold all messages back, or let them go again; nothing that is planned is lost by it."""
    shop = Shop.objects.select_for_update().first()
    if shop is None:
        raise Refused("no_shop", say("The shop is not set up yet: enter its name first."))
    shop.notices_paused = paused
    shop.save(update_fields=["notices_paused"])
    return shop


@transaction.atomic
def set_days(*, duty: str, days_before: Sequence[int]) -> tuple[int, ...]:
    """Set on which days before its end a duty is reminded of; negative days are after it.

    Returns the days in the order in which they come. An empty list is refused: what is due is
    never silenced by a setting. Notices that went already do not go again.
    """
    shop = Shop.objects.select_for_update().first()
    if shop is None:
        raise Refused("no_shop", say("The shop is not set up yet: enter its name first."))
    if duty not in set(DutyKind):
        raise Refused(
            "unknown_duty",
            say("{duty} is no duty. One of: {dutykind}.", duty=duty, dutykind=", ".join(DutyKind)),
        )
    if not days_before:
        raise Refused("no_days", say("Write at least one day: 0 is the last day itself."))
    try:
        days = notices.checked(days_before)
    except notices.NoticeDaysError as problem:
        raise Refused("bad_days", f"{problem}.") from problem
    shop.notice_days = {**shop.notice_days, duty: list(days)}
    shop.save(update_fields=["notice_days"])
    return days


@transaction.atomic
def stop(*, notice_id: int, at: dt.datetime) -> Notice:
    """Send this one never; other notices of the same duty go on their days."""
    notice = _locked(notice_id)
    if notice.state not in _CAN_STOP:
        raise Refused(
            "not_waiting",
            say("It is {state}; there is nothing to stop.", state=notice.get_state_display()),
        )
    notice.state, notice.why, notice.settled_at = NoticeState.WITHDRAWN, Why.STOPPED, at
    notice.save(update_fields=["state", "why", "settled_at"])
    return notice


@transaction.atomic
def try_again(*, notice_id: int) -> Notice:
    """Plan a failed or stopped message again, with fresh attempts.

    A failed message was certainly not taken, so it may go under the same Message-ID. An address
    that was given up is taken up again: whoever presses this has mended or checked it.
    """
    notice = _locked(notice_id)
    stopped = notice.state == NoticeState.WITHDRAWN and notice.why == Why.STOPPED
    if notice.state != NoticeState.FAILED and not stopped:
        raise Refused(
            "not_failed",
            say("It is {state}; it needs no second try.", state=notice.get_state_display()),
        )
    notice.state, notice.why, notice.attempts = NoticeState.PLANNED, "", 0
    notice.not_before = notice.settled_at = None
    notice.message_id = ""
    notice.save()
    Customer.objects.filter(pk=notice.customer_id).update(email_bounced=False, text_refused=False)
    return notice


def _locked(notice_id: int) -> Notice:
    notice = Notice.objects.select_for_update().filter(pk=notice_id).first()
    if notice is None:
        raise Refused("unknown_notice", say("There is no such message."))
    return notice
