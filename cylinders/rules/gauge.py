"""The devices of a test: may this gauge be used at this pressure, is the burette fine enough.

49 CFR 180.205(g)(2) and (3)(i), 2019-10-01 edition, as PHMSA letters 13-0131 and 15-0055 apply it:

    certified accuracy    0.5 % of full scale or better
    as part of the apparatus    1.0 % of the test pressure of every cylinder tested
    so, at 0.5 %          not below half of full scale (1100 psi: not below 550 psi)
    range                 to 110 % of the test pressure
    readable              to 1 % of the test pressure; a dial to half a division
    expansion readable    to 1 % of total expansion or 0.1 cc, whichever is more

>>> from cylinders.rules.quantity import psi
>>> dial = Gauge(full_scale=psi(1100), accuracy_percent=Decimal("0.5"))
>>> str(lowest_usable(dial, on=dt.date(2026, 11, 20)))
'550 psi'
"""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from cylinders.rules.quantity import ROUND_CEILING, ROUND_FLOOR, Quantity, cc, round_fraction
from cylinders.rules.retest_figures import Name, figure, share
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import say

_RANGE = Citation("49 CFR 180.205(g)(3)(i); PHMSA letter 13-0131", "2019-10-01")
_CERTIFIED = Citation("49 CFR 180.205(g)(3)(i); PHMSA letter 15-0055", "2019-10-01")


@dataclass(frozen=True, slots=True)
class Gauge:
    """A pressure-indicating device: its full scale, certified accuracy (% of it) and division.

    ``analogue`` dials may be read to half a division; ``division`` is ``None`` where not known.
    """

    full_scale: Quantity
    accuracy_percent: Decimal
    division: Quantity | None = None
    analogue: bool = False


def lowest_usable(gauge: Gauge, *, on: dt.date) -> Quantity:
    """Lowest test pressure at which the device is still within the apparatus's accuracy."""
    part = Fraction(gauge.accuracy_percent) / Fraction(figure(Name.SYSTEM_ACCURACY, on=on).value)
    exact = Fraction(gauge.full_scale.value) * part
    return Quantity(round_fraction(exact, places=0, rounding=ROUND_CEILING), gauge.full_scale.unit)


def judge(gauge: Gauge | None, *, test_pressure: Quantity, on: dt.date) -> Finding:
    """Whether the device may be used at ``test_pressure`` (code ``gauge``).

    ``FAIL`` means equipment out of tolerance; ``UNKNOWN`` that no device was described.
    """
    if gauge is None:
        says = say("The pressure gauge was not described with this test; the lab keeps it on file.")
        return Finding("gauge", Outcome.UNKNOWN, says, _RANGE)
    for check in (_accuracy, _bottom, _top, _readable):
        finding = check(gauge, test_pressure, on)
        if finding is not None:
            return finding
    says = say(
        "The gauge ({full_scale}, {accuracy_percent:f} %) suits {test_pressure}.",
        full_scale=gauge.full_scale,
        accuracy_percent=gauge.accuracy_percent,
        test_pressure=test_pressure,
    )
    return Finding("gauge", Outcome.OK, says, _RANGE)


def widest_increment(total: Quantity, *, on: dt.date) -> Quantity:
    """Coarsest step of the expansion device for this total: 1 % of it, or 0.1 cc if that is more.

    180.205(g)(2); it is about the device, not the permanent expansion (PHMSA letter 07-0002).
    """
    least = cc(figure(Name.EXPANSION_READABLE_CC, on=on).value)
    exact = total.base * share(Name.EXPANSION_READABLE, on=on)
    return max(cc(round_fraction(exact, places=6, rounding=ROUND_FLOOR)), least)


def expansion_readable(increment: Quantity, total: Quantity, *, on: dt.date) -> Finding:
    """Whether the expansion device reads finely enough for this total (code ``gauge``)."""
    row = figure(Name.EXPANSION_READABLE, on=on)
    widest = widest_increment(total, on=on)
    if increment <= widest:
        says = say(
            "Expansion is read to {increment}; to {short} is asked for.",
            increment=increment,
            short=_short(widest),
        )
        return Finding("gauge", Outcome.OK, says, row.cites)
    says = say(
        "Expansion is read to {increment}, too coarse for {total}: at most {short}.",
        increment=increment,
        total=total,
        short=_short(widest),
    )
    return Finding("gauge", Outcome.FAIL, says, row.cites)


def _short(step: Quantity) -> str:
    shown = step.convert("cc", places=3, rounding=ROUND_FLOOR).value
    return f"{shown:f}".rstrip("0").rstrip(".") + " cc"


def _accuracy(gauge: Gauge, _pressure: Quantity, on: dt.date) -> Finding | None:
    row = figure(Name.DEVICE_ACCURACY, on=on)
    if gauge.accuracy_percent <= row.value:
        return None
    says = say(
        "The gauge is certified to {accuracy_percent:f} % of full scale; {percent} % "
        "or better is required.",
        accuracy_percent=gauge.accuracy_percent,
        percent=row.value,
    )
    return Finding("gauge", Outcome.FAIL, says, _CERTIFIED)


def _bottom(gauge: Gauge, pressure: Quantity, on: dt.date) -> Finding | None:
    error = gauge.full_scale.base * Fraction(gauge.accuracy_percent) / 100
    if error <= pressure.base * share(Name.SYSTEM_ACCURACY, on=on):
        return None
    says = say(
        "A gauge of {full_scale} at {accuracy_percent:f} % may not be used below "
        "{lowest_usable}; the test was at {pressure}.",
        full_scale=gauge.full_scale,
        accuracy_percent=gauge.accuracy_percent,
        lowest_usable=lowest_usable(gauge, on=on),
        pressure=pressure,
    )
    return Finding("gauge", Outcome.FAIL, says, _RANGE)


def _top(gauge: Gauge, pressure: Quantity, on: dt.date) -> Finding | None:
    row = figure(Name.GAUGE_TOP, on=on)
    if gauge.full_scale.base >= pressure.base * share(Name.GAUGE_TOP, on=on):
        return None
    says = say(
        "A gauge of {full_scale} does not reach {percent} % of the test pressure {pressure}.",
        full_scale=gauge.full_scale,
        percent=row.value,
        pressure=pressure,
    )
    return Finding("gauge", Outcome.FAIL, says, row.cites)


def _readable(gauge: Gauge, pressure: Quantity, on: dt.date) -> Finding | None:
    if gauge.division is None:
        return None
    row = figure(Name.PRESSURE_READABLE, on=on)
    step = gauge.division.base / (2 if gauge.analogue else 1)
    if step <= pressure.base * share(Name.PRESSURE_READABLE, on=on):
        return None
    says = say(
        "Divisions of {division} cannot be read to {percent} % of the test pressure {pressure}.",
        division=gauge.division,
        percent=row.value,
        pressure=pressure,
    )
    return Finding("gauge", Outcome.FAIL, says, row.cites)
