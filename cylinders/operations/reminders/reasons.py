"""May this message still go? Asked when it is planned, and again at the moment it is to go."""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from cylinders.models import Cylinder, Life, Notice, Shop
from cylinders.queries.due import duties_of
from cylinders.rules import notices
from cylinders.rules.duties import Duty


class Why(StrEnum):
    """Why a message was withdrawn, in the words that the shop reads."""

    DONE = "done, or no longer due on that day"
    LATER = "a later notice has taken its place"
    LIFE = "the cylinder is out of use"
    NO_CONSENT = "the owner has not agreed to be written to so"
    NO_ADDRESS = "no address or number that takes messages"
    DECLINED = "the owner declined this kind of message"
    SOLD = "the cylinder has changed hands"
    STOPPED = "stopped by the shop"


#: A message that was withdrawn for one of these is planned again when the reason has gone.
PASSING = frozenset({Why.DONE, Why.LIFE, Why.NO_CONSENT, Why.NO_ADDRESS, Why.DECLINED})


@dataclass(frozen=True, slots=True)
class Checked:
    """``why`` says what stands in the way for good, ``waits`` that it is only not the moment."""

    duty: Duty | None = None
    why: Why | None = None
    waits: bool = False


def days_for(duty: str, *, shop: Shop | None) -> tuple[int, ...]:
    """The days before the last day on which a reminder of ``duty`` goes, as the shop set them.

    What cannot be used falls back on the default: no setting may silence what is due.
    """
    chosen = (shop.notice_days if shop else {}).get(duty)
    if not isinstance(chosen, list):
        return notices.DAYS_BEFORE
    try:
        return notices.checked(chosen)
    except notices.NoticeDaysError:
        return notices.DAYS_BEFORE


def check_reminder(
    notice: Notice, cylinder: Cylinder, *, on: dt.date, shop: Shop | None
) -> Checked:
    """Whether a reminder still says what is so on day ``on``; ``cylinder`` is locked.

    A cylinder that is in the shop is not reminded of: its reminders wait until it has left.
    """
    if cylinder.life != Life.IN_SERVICE:
        return Checked(why=Why.LIFE)
    duty = next(
        (duty for duty in duties_of(cylinder, on=on) if duty.kind.value == notice.duty),
        None,
    )
    if duty is None or duty.due != notice.due:
        return Checked(why=Why.DONE)
    days = days_for(notice.duty, shop=shop)
    if notices.current(notice.due, on=on, days_before=days) != notice.days_before:
        return Checked(why=Why.LATER)
    return Checked(duty, waits=cylinder.work_orders.filter(closed_at__isnull=True).exists())
