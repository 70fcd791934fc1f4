"""Volumetric expansion: whether a cylinder has stretched further than it may.

49 CFR 180.203: total expansion is the gain in volume at test pressure, permanent expansion what is
left after release, elastic expansion their difference. 180.205(i)(1)(iv) to (vii), 2019-10-01:

    permanent / total       up to and including the limit   passes
                            above the limit                 condemned
    elastic expansion       above a 3HT's REE               condemned

The limit (10 %, 4E 12 %, a permit's own) belongs to the specification. All arithmetic is exact: the
verdict multiplies crosswise (permanent x 100 > limit x total) and the percentage shown is rounded
up to a tenth, so that what is shown and what is decided never disagree.

>>> from cylinders.rules.quantity import cc
>>> at_limit = Expansion(total=cc("57.0"), permanent=cc("5.7"))
>>> permanent(at_limit, Limit(Decimal(10), Citation("49 CFR 180.205(i)(1)(iv)"))).outcome
<Outcome.OK: 'ok'>
>>> shown_percent(Expansion(total=cc("56.9"), permanent=cc("5.7")))
Decimal('10.1')
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from cylinders.rules.quantity import (
    ROUND_CEILING,
    UNITS,
    Quantity,
    cc,
    round_fraction,
)
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import say, together

_DEFINITIONS = Citation("49 CFR 180.203", "2019-10-01")
_REE = Citation("49 CFR 180.205(i)(1)(v)", "2019-10-01")
_NOT_BY_ITSELF = Citation("49 CFR 173.302a(b); PHMSA letter 13-0042", "2019-10-01")
_READING = Citation("reading error of three burette readings, GUM interval, own note")
#: a lab writes elastic expansion to what its device reads: 180.205(g)(2), 0.1 cc
_ELASTIC_ROUNDING = cc("0.1")
_CONVERTED_PLACES = 4


@dataclass(frozen=True, slots=True)
class Limit:
    """Highest permanent expansion, per cent of total, and the clause that sets it."""

    percent: Decimal
    cites: Citation


@dataclass(frozen=True, slots=True)
class Expansion:
    """What was read: ``total`` at test pressure and ``permanent`` after release (volumes)."""

    total: Quantity
    permanent: Quantity

    @property
    def elastic_base(self) -> Fraction:
        """Total less permanent, exactly, in millilitres."""
        return self.total.base - self.permanent.base

    @property
    def elastic(self) -> Quantity:
        """Total less permanent in the unit of ``total``; exact when both have one unit.

        Readings in two units are shown to four decimals, rounded up: the figure is compared with
        an upper limit (REE), and decisions use :attr:`elastic_base`.
        """
        exact = self.elastic_base / UNITS[self.total.unit][1]
        same = self.total.unit == self.permanent.unit
        places = max(map(decimals, (self.total, self.permanent))) if same else _CONVERTED_PLACES
        return Quantity(
            round_fraction(exact, places=places, rounding=ROUND_CEILING), self.total.unit
        )


def decimals(quantity: Quantity) -> int:
    """How many decimals a quantity was written with ("5.60" has two)."""
    return len(f"{quantity.value:f}".partition(".")[2])


def exact_percent(read: Expansion) -> Fraction:
    """Permanent expansion in per cent of total, exactly; ``read`` must be possible."""
    return 100 * read.permanent.base / read.total.base


def shown_percent(read: Expansion) -> Decimal:
    """The percentage for people: rounded up to a tenth, never down."""
    return round_fraction(exact_percent(read), places=1, rounding=ROUND_CEILING)


def possible(read: Expansion, stated_elastic: Quantity | None = None) -> Finding:
    """Whether these readings can be (code ``numbers_possible``); a negative zero is zero.

    A stated elastic expansion may differ from total less permanent by the 0.1 cc that readings
    are good for, or by the half of its own last digit where it was rounded to that.
    """
    wrong = ""
    if read.total.base <= 0:
        wrong = say("total expansion {total} is not more than zero", total=read.total)
    elif read.permanent.base < 0:
        wrong = say("permanent expansion {permanent} is below zero", permanent=read.permanent)
    elif read.permanent > read.total:
        wrong = say(
            "permanent expansion {permanent} is above the total of {total}",
            permanent=read.permanent,
            total=read.total,
        )
    elif stated_elastic and _apart(stated_elastic, read):
        wrong = say(
            "elastic expansion is given as {stated_elastic}, but total {total} less "
            "permanent {permanent} is {elastic}",
            stated_elastic=stated_elastic,
            total=read.total,
            permanent=read.permanent,
            elastic=read.elastic,
        )
    if wrong:
        says = say("The readings cannot be: {wrong}. Ask the lab for the readings.", wrong=wrong)
        return Finding("numbers_possible", Outcome.FAIL, says, _DEFINITIONS)
    return Finding("numbers_possible", Outcome.OK, say("The readings can be."), _DEFINITIONS)


def _apart(stated: Quantity, read: Expansion) -> bool:
    half_digit = Quantity(Decimal(5).scaleb(-decimals(stated) - 1), stated.unit)
    return abs(stated.base - read.elastic_base) > max(_ELASTIC_ROUNDING, half_digit).base


def exceeds(read: Expansion, percent: Decimal | Fraction) -> bool:
    """Whether permanent expansion is above ``percent`` of total; exactly at it is not."""
    return 100 * read.permanent.base > Fraction(percent) * read.total.base


def permanent(read: Expansion, limit: Limit | None) -> Finding:
    """Permanent against the limit (code ``permanent_expansion``); ``FAIL`` condemns.

    Without a limit nothing is decided: the outcome is ``UNKNOWN``, whatever the percentage.
    """
    shown = shown_percent(read)
    if limit is None:
        says = say(
            "Permanent expansion is {shown} % of total, but the limit is not known. "
            "Read the permit or the standard and enter its limit.",
            shown=shown,
        )
        cites = Citation("49 CFR 180.205(i)(1)(vii)", "2019-10-01")
        return Finding("permanent_expansion", Outcome.UNKNOWN, says, cites)
    above = exceeds(read, limit.percent)
    says = say(
        "Permanent expansion is {shown} % of total, {how} the limit of {percent:f} %.",
        shown=shown,
        how=say("above") if above else say("within"),
        percent=limit.percent,
    )
    outcome = Outcome.FAIL if above else Outcome.OK
    return Finding("permanent_expansion", outcome, says, limit.cites)


def near_limit(read: Expansion, limit: Limit, increment: Quantity | None) -> Finding:
    """Whether the reading error could reach over the limit (code ``near_limit``).

    Each reading is good to half an ``increment`` and all share one zero, so the permanent
    expansion is good to one increment either way. This never changes the verdict: it adds a
    caution. Without a stated increment the last digit written is taken for it.
    """
    step = increment or last_digit(read)
    above = exceeds(read, limit.percent)
    moved = read.permanent.base + (-step.base if above else step.base)
    turned = (100 * moved > Fraction(limit.percent) * read.total.base) is not above
    if not turned:
        return Finding(
            "near_limit", Outcome.OK, say("Clear of the limit by the reading."), _READING
        )
    end = (
        say("The verdict stays: condemned.") if above else say("Look at the burette with the lab.")
    )
    says = say(
        "{shown_percent} % lies within the reading error of {step} from the limit "
        "of {percent:f} %. {end}",
        shown_percent=shown_percent(read),
        step=step,
        percent=limit.percent,
        end=end,
    )
    return Finding("near_limit", Outcome.CAUTION, says, _READING)


def last_digit(read: Expansion) -> Quantity:
    """The coarser last digit of the two readings: "56.3" and "5.60" give 0.1."""
    steps = (
        Quantity(Decimal(1).scaleb(-decimals(reading)), reading.unit)
        for reading in (read.total, read.permanent)
    )
    return max(steps)


def elastic(read: Expansion, ree: Quantity | None, *, ree_condemns: bool) -> Finding:
    """Elastic expansion against the stamped rejection value (code ``elastic_expansion``).

    On a 3HT (``ree_condemns``) more than the stamped value condemns and a missing one is unknown;
    on others it only forbids the plus. A rejection value is never computed here.
    """
    if ree is None:
        says = say("No rejection elastic expansion is given.")
        outcome = Outcome.UNKNOWN if ree_condemns else Outcome.OK
        more = say("Read REE from the stamp: a 3HT is condemned above it.") if ree_condemns else ""
        return Finding("elastic_expansion", outcome, together([says, more]), _REE)
    shown = read.elastic
    if read.elastic_base <= ree.base:
        says = say("Elastic expansion {shown} is within the stamped {ree}.", shown=shown, ree=ree)
        return Finding("elastic_expansion", Outcome.OK, says, _REE)
    says = say("Elastic expansion {shown} is above the stamped {ree}.", shown=shown, ree=ree)
    if ree_condemns:
        return Finding("elastic_expansion", Outcome.FAIL, says, _REE)
    says = together([says, say("No plus; by itself this does not condemn.")])
    return Finding("elastic_expansion", Outcome.CAUTION, says, _NOT_BY_ITSELF)
