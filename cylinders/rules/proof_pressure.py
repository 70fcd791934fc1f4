"""What every pressure test must show: the pressure reached and the time it was held.

A proof pressure test measures nothing else (49 CFR 180.203; PHMSA letter 21-0100: no expansions to
record); a volumetric test must show the same two things first. 180.205(g)(5) and 180.209(a) Table
1, 2019-10-01:

    pressure    at least the minimum test pressure (5/3 or 2 times service pressure, or a permit's)
    hold        at least 30 s, and until expansion is complete

The required pressure is rounded up before it is compared: 5/3 of 2015 psi is 3358.33, so 3359.

>>> from cylinders.rules.quantity import psi
>>> from cylinders.rules.specifications import SPECIFICATIONS
>>> str(required_pressure(SPECIFICATIONS["3AA"], psi(2015)))
'3359 psi'
>>> str(required_pressure(SPECIFICATIONS["3AL"], Quantity(Decimal("20.7"), "MPa")))
'34.5 MPa'
"""

import datetime as dt
from decimal import Decimal
from fractions import Fraction

from cylinders.rules.quantity import ROUND_CEILING, Quantity, psi, round_fraction
from cylinders.rules.retest_figures import Name, figure, share
from cylinders.rules.specifications import (
    PressureRule,
    Specification,
    exact_minimum,
    minimum_test_pressure,
)
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import Least, phrase, say, together

_TABLE = Citation("49 CFR 180.209(a) Table 1", "2019-10-01")
#: by how much a pressure may move when it is written in another unit (3000 psi as 207 bar)
_ROUNDED = Fraction(5, 1000)
#: decimals that make steps of about one hundredth of a bar, the same in each metric unit
_METRIC_PLACES = {"bar": 2, "kPa": 0, "MPa": 3}


def required_pressure(spec: Specification, service: Quantity | None) -> Quantity | None:
    """Minimum test pressure, rounded up and never down; ``None`` where no pressure follows.

    In the unit of the stamp (psi, bar for a metric specification) it is a whole number. Where a
    lab gives the service pressure in another unit it is rounded up to 0.01 bar, so that 206.84
    bar for 3000 psi does not ask for most of a bar more than the stamp does.
    """
    if service is not None and service.unit in _METRIC_PLACES:
        if spec.unit == "bar":
            return minimum_test_pressure(spec, _in_bar(service))
        exact = exact_minimum(spec, service)
        if spec.test is PressureRule.FACTOR and exact is not None:
            return _metric(exact, service.unit)
    return minimum_test_pressure(spec, service)


def _metric(exact: Fraction, unit: str) -> Quantity:
    """The requirement of a psi specification in a metric unit, rounded up to 0.01 bar."""
    shown = round_fraction(exact, places=_METRIC_PLACES[unit], rounding=ROUND_CEILING)
    return Quantity(_plain(shown), unit)


def _in_bar(metric: Quantity) -> Quantity:
    """An exact conversion: the metric units are powers of ten apart."""
    scale = {"bar": 0, "kPa": -2, "MPa": 1}[metric.unit]
    return Quantity(Decimal(f"{metric.value:f}e{scale}"), "bar")


def _plain(value: Decimal) -> Decimal:
    """Without trailing zeros, and without an exponent."""
    text = f"{value:f}"
    return Decimal(text.rstrip("0").rstrip(".") if "." in text else text)


_NO_REQUIREMENT = phrase(
    "{reached} was reached, but the required test pressure is not known. Read the permit or "
    "the stamp and enter it."
)


def pressure_reached(reached: Quantity, required: Quantity | None, *, on: dt.date) -> Finding:
    """Pressure reached against the pressure required (code ``test_pressure``).

    ``FAIL`` when short (no valid test), ``UNKNOWN`` when the requirement is not known or the
    pressure is so high (over 150 %) that a person must ask; ``CAUTION`` from 110 %. There is no
    upper limit in the regulation; both thresholds are this service's own.
    """
    if required is None:
        says = say(_NO_REQUIREMENT, reached=reached)
        return Finding("test_pressure", Outcome.UNKNOWN, says, _TABLE)
    if reached < required:
        says = say(
            "{reached} was reached, {required} is required: not a valid test. Test again.",
            reached=reached,
            required=Least(required),
        )
        return Finding("test_pressure", Outcome.FAIL, says, _TABLE)
    return _how_far_over(reached, required, on)


def _how_far_over(reached: Quantity, required: Quantity, on: dt.date) -> Finding:
    for name, outcome, ask in (
        (
            Name.PRESSURE_DOUBTFUL,
            Outcome.UNKNOWN,
            say("Check the unit, or if the wall was overstrained."),
        ),
        (Name.PRESSURE_HIGH, Outcome.CAUTION, say("Check the gauge reading.")),
    ):
        row = figure(name, on=on)
        if reached.base > required.base * Fraction(row.value) / 100:
            says = say(
                "{reached} is over {percent} % of the required {required}. {ask}",
                reached=reached,
                percent=row.value,
                required=Least(required),
                ask=ask,
            )
            return Finding("test_pressure", outcome, says, row.cites)
    says = say(
        "{reached} was reached, {required} is required.", reached=reached, required=Least(required)
    )
    return Finding("test_pressure", Outcome.OK, says, _TABLE)


def service_usual(
    spec: Specification | None, service: Quantity | None, reached: Quantity, *, on: dt.date
) -> Finding:
    """Whether the pressures are such as the specification has (code ``test_pressure``).

    ``UNKNOWN``, for a person, where the service pressure lies outside the specification or the
    test pressure above any cylinder's: most often psi written in a bar field.
    """
    top = figure(Name.PRESSURE_HIGHEST, on=on)
    if reached > psi(top.value):
        says = say(
            "{reached} is above the test pressure of any cylinder known. Check the unit.",
            reached=reached,
        )
        return Finding("test_pressure", Outcome.UNKNOWN, says, top.cites)
    if spec and service and not _within(spec, service):
        says = say(
            "A {code} is not made for {service}. Check the unit and the specification.",
            code=spec.code,
            service=service,
        )
        return Finding("test_pressure", Outcome.UNKNOWN, says, spec.cites)
    return Finding("test_pressure", Outcome.OK, say("The pressures are usual."), _TABLE)


def _within(spec: Specification, service: Quantity) -> bool:
    """Within the range of the specification, give or take the rounding of another unit."""
    low = spec.service_min if spec.service_fixed is None else spec.service_fixed
    high = spec.service_max if spec.service_fixed is None else spec.service_fixed
    if low is not None and service.base < Quantity(low, spec.unit).base * (1 - _ROUNDED):
        return False
    return high is None or service.base <= Quantity(high, spec.unit).base * (1 + _ROUNDED)


def pressure_possible(reached: Quantity, required: Quantity | None, *, on: dt.date) -> Finding:
    """Whether such a pressure can be (code ``numbers_possible``).

    At three times the test pressure the mean wall stress would be twice the strength of the metal:
    the cylinder would have burst, so the figure is wrong (psi written in a bar field).
    """
    row = figure(Name.PRESSURE_IMPOSSIBLE, on=on)
    if required and reached.base > required.base * Fraction(row.value) / 100:
        says = say(
            "{reached} cannot be: it is over {percent} % of the required {required}, and "
            "the cylinder would have burst. Check the unit of the test pressure.",
            reached=reached,
            percent=row.value,
            required=Least(required),
        )
        return Finding("numbers_possible", Outcome.FAIL, says, row.cites)
    return Finding("numbers_possible", Outcome.OK, say("The pressure can be."), row.cites)


def hold(seconds: Decimal, *, on: dt.date) -> Finding:
    """Time at test pressure (code ``hold``); short means no valid test."""
    row = figure(Name.HOLD, on=on)
    short = seconds < row.value
    says = say(
        "Held for {seconds:f} s; at least {least} s is required.", seconds=seconds, least=row.value
    )
    if short:
        says = together([says, say("Not a valid test. Test again.")])
    return Finding("hold", Outcome.FAIL if short else Outcome.OK, says, row.cites)


def system_check(before: Quantity, required: Quantity, *, on: dt.date) -> Finding:
    """Pressure of a system check made on this cylinder before its test (code ``repeat``).

    Over 90 % of the test pressure the wall has already taken its permanent set, and a test after
    it would read too little: no valid test. Exactly 90 % is accepted (PHMSA letter 25-0004).
    """
    row = figure(Name.SYSTEM_CHECK, on=on)
    over = before.base > required.base * share(Name.SYSTEM_CHECK, on=on)
    says = say(
        "The system check took {before}; at most {percent} % of {required} is allowed.",
        before=before,
        percent=row.value,
        required=Least(required),
    )
    return Finding("repeat", Outcome.FAIL if over else Outcome.OK, says, row.cites)
