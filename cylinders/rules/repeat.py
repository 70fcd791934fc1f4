"""A second test: allowed only after a fault of the equipment, at a raised pressure.

49 CFR 180.205(g)(5), 2019-10-01: where the pressure could not be held because the apparatus failed,
the test may be repeated at 10 % or 100 psi more, whichever is less. It never serves to save a
cylinder that must be condemned.

>>> from cylinders.rules.quantity import psi
>>> (
...     str(raised(psi(5000), on=dt.date(2026, 11, 20))),
...     str(raised(psi(800), on=dt.date(2026, 11, 20))),
... )
('5100 psi', '880 psi')
"""

import datetime as dt
from dataclasses import dataclass

from cylinders.rules.quantity import ROUND_CEILING, UNITS, Quantity, psi, round_fraction
from cylinders.rules.retest_figures import Name, figure, share
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import Least, say

#: decimals that show a raised pressure no coarser than a tenth of a psi
_PLACES = {"psi": 0, "bar": 2, "kPa": 0, "MPa": 3}


@dataclass(frozen=True, slots=True)
class Earlier:
    """The test that is repeated: its pressure, and whether it gave a reason to condemn."""

    reference: str
    pressure: Quantity
    condemns: bool


def raised(pressure: Quantity, *, on: dt.date) -> Quantity:
    """The pressure a repeat of a test at ``pressure`` needs, rounded up."""
    tenth = pressure.base * share(Name.REPEAT_PERCENT, on=on)
    fixed = psi(figure(Name.REPEAT_PSI, on=on).value).base
    exact = (pressure.base + min(tenth, fixed)) / UNITS[pressure.unit][1]
    places = _PLACES[pressure.unit]
    return Quantity(round_fraction(exact, places=places, rounding=ROUND_CEILING), pressure.unit)


def judge(
    earlier: Earlier | None,
    *,
    reached: Quantity,
    required: Quantity | None,
    reason: str,
    on: dt.date,
) -> Finding:
    """Whether this repeat counts (code ``repeat``).

    ``FAIL`` where the pressure was not raised (no valid test); ``UNKNOWN`` where the earlier test
    gave a reason to condemn, the fault is not stated, or no pressure is required to compare with.
    ``CAUTION`` where the earlier record is not at hand.
    """
    cites = figure(Name.REPEAT_PERCENT, on=on).cites
    if earlier and earlier.condemns:
        says = say(
            "The earlier test {reference} gave a reason to condemn; a repeat does not "
            "save the cylinder. A person decides.",
            reference=earlier.reference,
        )
        return Finding("repeat", Outcome.UNKNOWN, says, cites)
    if not reason.strip():
        says = say(
            "A repeat needs its reason: which fault of the equipment ended the earlier test."
        )
        return Finding("repeat", Outcome.UNKNOWN, says, cites)
    if required is None:
        says = say("The required test pressure is not known, so neither is that of a repeat.")
        return Finding("repeat", Outcome.UNKNOWN, says, cites)
    base = max(required, earlier.pressure) if earlier else required
    return _raised_enough(earlier, reached, raised(base, on=on), cites)


def _raised_enough(
    earlier: Earlier | None, reached: Quantity, needed: Quantity, cites: Citation
) -> Finding:
    if reached < needed:
        says = say(
            "A repeat is made at {needed} (10 % or 100 psi more); {reached} was reached.",
            needed=Least(needed),
            reached=reached,
        )
        return Finding("repeat", Outcome.FAIL, says, cites)
    if earlier is None:
        says = say(
            "Repeated at {reached}. The earlier record is not at hand: compare it.", reached=reached
        )
        return Finding("repeat", Outcome.CAUTION, says, cites)
    return Finding(
        "repeat", Outcome.OK, say("Repeated at {reached} as the rule asks.", reached=reached), cites
    )
