"""The daily check with a calibrated cylinder: was the apparatus right on the day of the test.

49 CFR 180.205(g)(3) and (4), 2019-10-01 edition:

    each day                before the first test of the day
    expansion               within 1.0 % of the certificate at that pressure (or the reverse)
    permanent expansion     none (PHMSA letter 07-0077: no tolerance)
    pressure of the check   within 500 psi of the test pressure from 3000 psi on, else within 10 %

Between two points of the certificate the expansion is taken from the straight line; beyond them
nothing is known. Bands are compared without a division: difference x 100 <= reference.

>>> from cylinders.rules.quantity import cc, psi
>>> points = tuple(
...     Point(psi(p), cc(e)) for p, e in ((3000, "37.9"), (4000, "50.6"), (5000, "63.4"))
... )
>>> certified_expansion(points, psi(4250))
Fraction(269, 5)
"""

import datetime as dt
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from cylinders.rules.quantity import ROUND_CEILING, Quantity, psi, round_fraction
from cylinders.rules.retest_figures import Name, figure, share
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say

_LETTER = Citation("49 CFR 180.205(g)(4); PHMSA letter 07-0077", "2019-10-01")
_DAILY = Citation("49 CFR 180.205(g)(3)", "2019-10-01")
_NO_EXTRAPOLATION = Citation(
    "interpolation between certificate points, own reading of 49 CFR 180.205(g)(4)",
    "2019-10-01",
    Certainty.COMMON_PRACTICE,
)


@dataclass(frozen=True, slots=True)
class Point:
    """One line of a calibrated cylinder's certificate."""

    pressure: Quantity
    expansion: Quantity


@dataclass(frozen=True, slots=True)
class Observed:
    """What the apparatus showed with the calibrated cylinder in it."""

    pressure: Quantity
    expansion: Quantity
    permanent: Quantity


@dataclass(frozen=True, slots=True)
class Calibration:
    """One daily check: which calibrated cylinder, its certificate, and what was read."""

    cylinder_serial: str
    date: dt.date
    points: tuple[Point, ...]
    observed: Observed


def certified_expansion(points: tuple[Point, ...], at: Quantity) -> Fraction | None:
    """The certificate's expansion (mL) at pressure ``at``, or ``None`` outside its points."""
    return _between([(row.pressure.base, row.expansion.base) for row in points], at.base)


def certified_pressure(points: tuple[Point, ...], at: Quantity) -> Fraction | None:
    """The certificate's pressure (Pa) at expansion ``at``, or ``None`` outside its points."""
    return _between([(row.expansion.base, row.pressure.base) for row in points], at.base)


def _between(rows: list[tuple[Fraction, Fraction]], at: Fraction) -> Fraction | None:
    """On the straight line between the two rows around ``at``; never beyond the rows."""
    rows = sorted(rows)
    for known, value in rows:
        if known == at:
            return value
    for (low, low_value), (high, high_value) in pairwise(rows):
        if low < at < high:
            return low_value + (high_value - low_value) * (at - low) / (high - low)
    return None


def judge(
    check: Calibration | None, *, tested: dt.date, test_pressure: Quantity
) -> tuple[Finding, ...]:
    """The findings of one check (code ``calibration``): the worst first, each with its reason.

    ``FAIL``: the apparatus was out, or the check is not of that day or pressure. ``UNKNOWN``: no
    check was sent, or the certificate does not reach. ``CAUTION``: the certificate looks mistyped.
    """
    if check is None:
        says = say("No calibration of the day was sent with this test; the lab keeps it on file.")
        return (Finding("calibration", Outcome.UNKNOWN, says, _DAILY),)
    certificate = _certificate(check, tested)
    cannot_be = certificate is not None and certificate.outcome is Outcome.FAIL
    findings = (
        _day(check, tested),
        certificate,
        _check_point(check, test_pressure, tested),
        _permanent(check),
        None if cannot_be else _expansion(check, tested),
    )
    faults = tuple(found for found in findings if found is not None)
    if faults:
        return faults
    says = say("The apparatus agreed with the calibrated cylinder on the day of the test.")
    return (Finding("calibration", Outcome.OK, says, _DAILY),)


def _fault(says: str, cites: Citation, outcome: Outcome = Outcome.FAIL) -> Finding:
    return Finding("calibration", outcome, says, cites)


def _day(check: Calibration, tested: dt.date) -> Finding | None:
    if check.date == tested:
        return None
    says = say(
        "The apparatus was checked on {date}, the test was on {tested}: check each day.",
        date=check.date,
        tested=tested,
    )
    return _fault(says, _DAILY)


def _certificate(check: Calibration, tested: dt.date) -> Finding | None:
    """Points that cannot be, and points whose expansion per pressure does not hang together."""
    pressures = {point.pressure.base for point in check.points}
    if len(pressures) < len(check.points) or any(
        point.pressure.base <= 0 or point.expansion.base <= 0 for point in check.points
    ):
        says = say("The certificate has a pressure twice, or a figure that is not above zero.")
        return _fault(says, _LETTER)
    ratios = [point.expansion.base / point.pressure.base for point in check.points]
    row = figure(Name.CERTIFICATE_SPREAD, on=tested)
    if max(ratios) - min(ratios) > min(ratios) * Fraction(row.value) / 100:
        says = say(
            "Expansion per pressure differs by over {percent} % between the certificate's "
            "points. Compare them with the paper for a typing error.",
            percent=row.value,
        )
        return _fault(says, row.cites, Outcome.CAUTION)
    return None


def near_enough(check: Quantity, test_pressure: Quantity, *, tested: dt.date) -> bool:
    """Whether a check at that pressure is one for a test at ``test_pressure``."""
    band, _words, _cites = _band(test_pressure, tested)
    return abs(check.base - test_pressure.base) <= band


def _band(test_pressure: Quantity, tested: dt.date) -> tuple[Fraction, str, Citation]:
    """How far a check may be from the pressure of the test."""
    high = figure(Name.CHECK_POINT_HIGH, on=tested)
    if test_pressure.base >= psi(figure(Name.CHECK_POINT_FROM, on=tested).value).base:
        return psi(high.value).base, say("{high} psi", high=high.value), high.cites
    part = figure(Name.CHECK_POINT_LOW, on=tested)
    return test_pressure.base * Fraction(part.value) / 100, f"{part.value} %", high.cites


def _check_point(check: Calibration, test_pressure: Quantity, tested: dt.date) -> Finding | None:
    """Whether the check was made near enough to the pressure of the test."""
    if near_enough(check.observed.pressure, test_pressure, tested=tested):
        return None
    _width, words, cites = _band(test_pressure, tested)
    says = say(
        "The check was made at {pressure}, the test at {test_pressure}: it must be within {words}.",
        pressure=check.observed.pressure,
        test_pressure=test_pressure,
        words=words,
    )
    return _fault(says, cites)


def _permanent(check: Calibration) -> Finding | None:
    """A calibrated cylinder springs back wholly; there is no tolerance on that."""
    if check.observed.permanent.base == 0:
        return None
    says = say(
        "The calibrated cylinder showed a permanent expansion of {permanent}; it "
        "must show none. Find the leak or the air in the apparatus.",
        permanent=check.observed.permanent,
    )
    return _fault(says, _LETTER)


def _expansion(check: Calibration, tested: dt.date) -> Finding | None:
    """Expansion at that pressure, else pressure at that expansion, within the band."""
    seen = check.observed
    reference, read = certified_expansion(check.points, seen.pressure), seen.expansion
    if reference is None:
        reference, read = certified_pressure(check.points, seen.expansion), seen.pressure
    if reference is None:
        says = say(
            "{pressure} and {expansion} lie outside the certificate's points; nothing "
            "is known there. Check at a pressure of the certificate.",
            pressure=seen.pressure,
            expansion=seen.expansion,
        )
        return _fault(says, _NO_EXTRAPOLATION, Outcome.UNKNOWN)
    row = figure(Name.CALIBRATION, on=tested)
    if abs(read.base - reference) <= reference * share(Name.CALIBRATION, on=tested):
        return None
    off = round_fraction(
        100 * abs(read.base - reference) / reference, places=2, rounding=ROUND_CEILING
    )
    says = say(
        "{read} is {off} % away from the certificate; {percent} % is allowed.",
        read=read,
        off=off,
        percent=row.value,
    )
    return _fault(says, row.cites)
