"""How a lab's identification number stands on a day: in force, soon to end, or ended.

49 CFR 180.205(b), 2019-10-01 edition: whoever requalifies holds a current approval and marks with
its number. How long before its end the shop is warned is a rule of the house.

>>> standing("Z999", dt.date(2026, 12, 31), on=dt.date(2026, 11, 25)).outcome
<Outcome.CAUTION: 'caution'>
>>> standing("Z999", dt.date(2026, 12, 31), on=dt.date(2027, 1, 1)).outcome
<Outcome.FAIL: 'fail'>
"""

import datetime as dt

from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import say

#: Days before the last day on which the shop is written to, each once; the last is the day after.
WARN_DAYS = (60, 30, 7, -1)
_APPROVAL = Citation("49 CFR 180.205(b)", "2019-10-01")


def standing(number: str, valid_until: dt.date, *, on: dt.date) -> Finding:
    """The finding (code ``rin``): a number is good through its last day."""
    left = (valid_until - on).days
    if left < 0:
        says = say(
            "Number {number} ran out on {day}: no test after that day can count.",
            number=number,
            day=valid_until,
        )
        return Finding("rin", Outcome.FAIL, says, _APPROVAL)
    if left <= WARN_DAYS[0]:
        says = say(
            "Number {number} runs out on {day}. Tests after that day are held back: renew it.",
            number=number,
            day=valid_until,
        )
        return Finding("rin", Outcome.CAUTION, says, _APPROVAL)
    says = say("Number {number} is in force until {day}.", number=number, day=valid_until)
    return Finding("rin", Outcome.OK, says, _APPROVAL)


def warning_due(valid_until: dt.date, *, on: dt.date) -> int | None:
    """Which of :data:`WARN_DAYS` was reached last, or None where none is reached yet."""
    left = (valid_until - on).days
    reached = [days for days in WARN_DAYS if left <= days]
    return min(reached, default=None)
