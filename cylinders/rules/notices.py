"""Which reminder of a duty goes out on which day, and at which hours.

    notice      60, 30, 7 days before the last day, on that day, 30 days after
    goes        from its day on, until the next one's day has come; the last for 30 days
    hours       08:00 to 18:00 by the shop's clock

So a service that was down sends the latest notice only, never a burst. Days are civil days of the
shop's time zone: a day that the zone skips counts like any other, and what was to go on it goes on
the day after. These figures are the shop's own choice, no rule of law: common practice.

>>> current(dt.date(2026, 11, 30), on=dt.date(2026, 11, 25))
7
>>> current(dt.date(2026, 11, 30), on=dt.date(2027, 3, 1)) is None
True
>>> list(coming(dt.date(2026, 11, 30), on=dt.date(2026, 11, 25), ahead=7))
[(7, datetime.date(2026, 11, 23)), (0, datetime.date(2026, 11, 30))]
"""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cylinders.rules.wording import say

#: Days before the last day in date; a negative figure is after it.
DAYS_BEFORE = (60, 30, 7, 0, -30)
#: How long the last notice may still go after its own day.
LAST_GOES_FOR = 30
OPENS, CLOSES = dt.time(8), dt.time(18)
_FURTHEST = 366


class NoticeDaysError(ValueError):
    """Raised for a list of days that no shop can mean; says which and what is accepted."""


def checked(days_before: Sequence[int]) -> tuple[int, ...]:
    """The days in the order in which they come; raises :class:`NoticeDaysError`.

    >>> checked([0, 30])
    (30, 0)
    """
    if any(isinstance(days, bool) or not isinstance(days, int) for days in days_before):
        raise NoticeDaysError(say("{days}: write whole numbers of days", days=list(days_before)))
    if any(abs(days) > _FURTHEST for days in days_before):
        raise NoticeDaysError(
            say(
                "{days}: at most {furthest} days before or after",
                days=list(days_before),
                furthest=_FURTHEST,
            )
        )
    return tuple(sorted(set(days_before), reverse=True))


def send_on(due: dt.date, days_before: int) -> dt.date:
    """The day on which that notice goes."""
    return due - dt.timedelta(days=days_before)


def current(due: dt.date, *, on: dt.date, days_before: Sequence[int] = DAYS_BEFORE) -> int | None:
    """The one notice that may go on day ``on``, or None: the latest whose day has come."""
    come = [days for days in days_before if send_on(due, days) <= on]
    if not come:
        return None
    latest = min(come)
    is_last = latest == min(days_before)
    too_late = on > send_on(due, latest) + dt.timedelta(days=LAST_GOES_FOR)
    return None if is_last and too_late else latest


def coming(
    due: dt.date, *, on: dt.date, ahead: int, days_before: Sequence[int] = DAYS_BEFORE
) -> Iterator[tuple[int, dt.date]]:
    """The notice that may go today, then those of the next ``ahead`` days, with their days."""
    now = current(due, on=on, days_before=days_before)
    if now is not None:
        yield now, send_on(due, now)
    until = on + dt.timedelta(days=ahead)
    for days in days_before:
        if on < send_on(due, days) <= until:
            yield days, send_on(due, days)


@dataclass(frozen=True, slots=True)
class Window:
    """Duties whose last day lies in ``first`` to ``last`` have the notice of ``days_before``."""

    days_before: int
    first: dt.date
    last: dt.date


def windows(
    *, on: dt.date, ahead: int, days_before: Sequence[int] = DAYS_BEFORE
) -> tuple[Window, ...]:
    """The same as :func:`coming`, asked the other way round: for which last days each notice is.

    >>> [
    ...     (w.days_before, f"{w.first:%d %b}", f"{w.last:%d %b}")
    ...     for w in windows(on=dt.date(2026, 11, 25), ahead=7, days_before=(7, 0))
    ... ]
    [(7, '26 Nov', '09 Dec'), (0, '26 Oct', '02 Dec')]
    """
    ordered = checked(days_before)
    found = []
    for place, days in enumerate(ordered):
        if place + 1 < len(ordered):  # it goes until the next one's day has come
            first = on + dt.timedelta(days=ordered[place + 1] + 1)
        else:
            first = on + dt.timedelta(days=days - LAST_GOES_FOR)
        found.append(Window(days, first, on + dt.timedelta(days=days + ahead)))
    return tuple(found)


def may_send(local: dt.datetime) -> bool:
    """Whether ``local``, by the shop's clock, lies in the hours in which messages go out.

    >>> may_send(dt.datetime(2026, 11, 25, 18, 0)), may_send(dt.datetime(2026, 11, 25, 8, 0))
    (False, True)
    """
    return OPENS <= local.time() < CLOSES
