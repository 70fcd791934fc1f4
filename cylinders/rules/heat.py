"""Heat: what a cylinder may have been through, and what its drying may have done to it.

49 CFR 180.203, 2019-10-01: over-heated means any part of an aluminium cylinder at 176 C (350 F) or
more, of a steel or nickel one at 343 C (650 F) or more.

    aluminium    176 C or more           condemned (180.205(i)(1)(viii))
                 265 F (129.4 C) on      makers ask for a pressure test before service
    steel        343 C or more           out of service until a person decides: the text does not
                                         condemn it outright, only 180.212 may restore it
    not known    176 C or more           a person decides

>>> from decimal import Decimal
>>> exposure(Quantity(Decimal(176), "C"), Material.ALUMINIUM, on=dt.date(2026, 11, 20)).outcome
<Outcome.FAIL: 'fail'>
"""

import datetime as dt

from cylinders.rules.quantity import Quantity
from cylinders.rules.retest_figures import Figure, Name, figure
from cylinders.rules.specifications import Material
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.wording import say

_RULE = Citation("49 CFR 180.203 and 180.205(d)", "2019-10-01")
_DRYING = Citation("drying by the lab's own procedure")


def limit_of(material: Material | None, *, on: dt.date) -> Figure:
    """Temperature from which the metal counts as over-heated; the lower one if not known."""
    steel = material in (Material.STEEL, Material.NICKEL)
    return figure(Name.OVERHEATED_STEEL if steel else Name.OVERHEATED_ALUMINIUM, on=on)


def exposure(seen: Quantity | None, material: Material | None, *, on: dt.date) -> Finding:
    """What the highest temperature known means (code ``heat``)."""
    if seen is None:
        return Finding("heat", Outcome.OK, say("No exposure to heat is reported."), _RULE)
    return _judge("heat", say("The cylinder was exposed to"), seen, material, on)


def drying(
    method: str | None, temperature: Quantity | None, material: Material | None, *, on: dt.date
) -> Finding:
    """What the drying did (code ``drying``); ``UNKNOWN`` where nothing was reported."""
    if method is None:
        return Finding("drying", Outcome.UNKNOWN, say("How it was dried is not reported."), _DRYING)
    if temperature is None:
        return Finding(
            "drying",
            Outcome.OK,
            say("Dried: {method}, no temperature given.", method=method),
            _DRYING,
        )
    return _judge(
        "drying", say("Drying ({method}) reached", method=method), temperature, material, on
    )


def _judge(code: str, what: str, seen: Quantity, material: Material | None, on: dt.date) -> Finding:
    limit = limit_of(material, on=on)
    if seen >= Quantity(limit.value, limit.unit):
        metal = material or say("a metal that is not known")
        says = say(
            "{what} {seen}; from {limit} {unit} {metal} counts as over-heated.",
            what=what,
            seen=seen,
            limit=limit.value,
            unit=limit.unit,
            metal=metal,
        )
        if material is None:
            return Finding(
                code, Outcome.UNKNOWN, say("{says} Find out the metal.", says=says), limit.cites
            )
        return Finding(code, Outcome.FAIL, says, limit.cites)
    suspect = figure(Name.SUSPECT_ALUMINIUM, on=on)
    warm = seen >= Quantity(suspect.value, suspect.unit)
    if warm and material not in (Material.STEEL, Material.NICKEL):
        says = say(
            "{what} {seen}: makers warn from {suspect} {unit} on. Look for signs.",
            what=what,
            seen=seen,
            suspect=suspect.value,
            unit=suspect.unit,
        )
        return Finding(code, Outcome.CAUTION, says, suspect.cites)
    return Finding(code, Outcome.OK, f"{what} {seen}.", limit.cites)
