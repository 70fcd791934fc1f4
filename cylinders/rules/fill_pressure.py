"""The highest pressure the marks allow: as marked, or ten per cent more where a plus stands.

49 CFR 173.301a(c): at 70 F (21 C) at most the service pressure (second-hand). 173.302a(b): ten per
cent more for 3A, 3AX, 3AA, 3AAX and 3T, while "+" follows the LATEST test date and the test is in
date. The plus is the tester's word for the elastic expansion, the wall stress and the inspection;
that the valve's relief is a frangible disc without fusible metal, bursting at or below the test
pressure, is for the filler to see, so a fill above the mark is refused until it is recorded.

    3AA 2250, last mark 05/2024 +          2475 psi
    3AA 2250, 05/2019 + then 05/2024       2250 psi: an earlier plus does not carry over
    3AL 3000, 05/2024 +                    3000 psi: never a plus on 3AL

>>> from cylinders.rules.cylinder_facts import Requalification
>>> from cylinders.rules.month import Month
>>> from cylinders.rules.quantity import psi
>>> facts = CylinderFacts(
...     authority="DOT",
...     specification="3AA",
...     service_pressure=psi(2250),
...     requalifications=(Requalification(Month(2024, 5), "+"),),
... )
>>> str(highest(facts, on=dt.date(2026, 11, 25)).pressure)
'2475 psi'
"""

import datetime as dt
from dataclasses import dataclass
from fractions import Fraction

from cylinders.rules.cylinder_facts import CylinderFacts
from cylinders.rules.extra_rows import NO_EXTRA, ExtraRows
from cylinders.rules.intervals import next_requalification
from cylinders.rules.quantity import ROUND_FLOOR, Quantity, QuantityError, round_fraction
from cylinders.rules.specifications import find, service_pressure_when_not_marked
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say

PLUS_FACTOR = Fraction(11, 10)
PLUS = Citation("49 CFR 173.302a(b)", "", Certainty.SECOND_HAND)
MARKED = Citation("49 CFR 173.301a(c)", "", Certainty.SECOND_HAND)
_US = "US"


@dataclass(frozen=True, slots=True)
class Highest:
    """``marked`` is the service pressure, ``pressure`` what the marks allow; both None: unknown."""

    marked: Quantity | None
    pressure: Quantity | None
    plus: bool

    @property
    def cites(self) -> Citation:
        """The rule behind ``pressure``."""
        return PLUS if self.plus else MARKED


def highest(facts: CylinderFacts, *, on: dt.date, extra: ExtraRows = NO_EXTRA) -> Highest:
    """The highest pressure that the marks allow on day ``on``, rounded down to a whole unit."""
    spec = find(facts.specification or "")
    marked = facts.service_pressure
    if marked is None and spec is not None:
        marked = service_pressure_when_not_marked(spec)
    if marked is None or not plus_stands(facts, on=on, extra=extra):
        return Highest(marked, marked, plus=False)
    exact = Fraction(marked.value) * PLUS_FACTOR
    over = Quantity(round_fraction(exact, places=0, rounding=ROUND_FLOOR), marked.unit)
    return Highest(marked, over, plus=True)


def plus_stands(facts: CylinderFacts, *, on: dt.date, extra: ExtraRows = NO_EXTRA) -> bool:
    """Whether "+" follows the latest mark of a specification that may carry it, in date, in the US.

    A relief device recorded as something else than a frangible disc takes the plus away.
    """
    spec = find(facts.specification or "")
    past = facts.marks_until(on)
    if spec is None or not spec.plus_allowed or facts.country != _US or not past:
        return False
    if facts.relief_is_frangible_disc is False:
        return False
    latest = [mark.symbols for mark in past if mark.month == past[0].month]
    following = next_requalification(facts, on=on, extra=extra)
    in_date = following.due is not None and following.due >= on
    return in_date and all("+" in symbols for symbols in latest)


def judge_pressure(
    facts: CylinderFacts, allowed: Highest, wanted: Quantity | None
) -> Finding | None:
    """What stands against filling to ``wanted`` (None: the marked pressure); None if nothing does.

    Codes: ``pressure_unknown``, ``over_pressure``, ``plus_relief_unknown``. Raises
    :class:`~cylinders.rules.quantity.QuantityError` where ``wanted`` is no pressure above zero.
    """
    if wanted is not None and (wanted.dimension != "pressure" or wanted.base <= 0):
        raise QuantityError(say("{wanted} is no pressure to fill to.", wanted=wanted))
    if allowed.pressure is None or allowed.marked is None:
        says = say("The service pressure is not known: read it from the stamp.")
        return Finding("pressure_unknown", Outcome.UNKNOWN, says, MARKED)
    if wanted is None:
        return None
    if wanted > allowed.pressure:
        says = say(
            "{wanted} is over the {pressure} that the marks allow.",
            wanted=wanted,
            pressure=allowed.pressure,
        )
        return Finding("over_pressure", Outcome.FAIL, says, allowed.cites)
    if wanted > allowed.marked and facts.relief_is_frangible_disc is None:
        says = say(
            "{wanted} is over the marked {marked}: first record that the valve's "
            "relief is a frangible disc without fusible metal.",
            wanted=wanted,
            marked=allowed.marked,
        )
        return Finding("plus_relief_unknown", Outcome.UNKNOWN, says, PLUS)
    return None
