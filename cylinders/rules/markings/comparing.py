"""Dual marks: two specifications on one cylinder must be the same one."""

from math import lcm

from cylinders.rules.markings import sources
from cylinders.rules.markings.draft import Draft, PendingOriginal
from cylinders.rules.markings.reading import Dual
from cylinders.rules.quantity import UNITS, Quantity
from cylinders.rules.specifications import SPECIAL_PERMIT, find
from cylinders.rules.wording import say

#: a pressure rounded to a whole bar is off by half a bar: under 1 % from 50 bar on
TOLERANCE_HUNDREDTHS = 100
_SCALE = lcm(*(UNITS[unit][1].denominator for unit in ("psi", "bar")))
#: exact whole numbers in one common unit, so that comparing needs no fractions
_FACTOR = {unit: int(UNITS[unit][1] * _SCALE) for unit in ("psi", "bar")}


def compare(draft: Draft) -> Dual | None:
    """Compare the first specification mark with each other one; ``None`` where there is one."""
    if len(draft.pending) < 2:  # noqa: PLR2004 - two marks make a dual mark
        return None
    first, *others = draft.pending
    others = [other for other in others if _key(other) != _key(first)]
    if not others:
        draft.warn(
            "mark_repeated",
            say("The same specification mark was read twice: is it the stamp of two cylinders?"),
            sources.DUAL,
        )
        return None
    difference = _difference(first, others)
    return Dual(_consistent(draft, first, others, difference), _shown(difference))


def _consistent(
    draft: Draft, first: PendingOriginal, others: list[PendingOriginal], difference: int | None
) -> bool | None:
    """Whether the marks can be one cylinder's; ``None`` where a pressure is missing."""
    if any(not _same_construction(first, other) for other in others):
        draft.warn(
            "dual_specifications_differ",
            say(
                "{spec} and {other} are different constructions: no cylinder is both",
                spec=first.spec,
                other=others[0].spec,
            ),
            sources.DUAL,
        )
        return False
    if difference is None or difference <= TOLERANCE_HUNDREDTHS:
        return None if difference is None else True
    draft.warn(
        "dual_pressures_differ",
        say("The two service pressures differ by {shown} %", shown=_shown(difference)),
        sources.DUAL,
    )
    return False


def _key(mark: PendingOriginal) -> tuple[object, ...]:
    """Return what tells two marks apart."""
    pressure = mark.pressure
    figure = (pressure.value, pressure.unit) if pressure else None
    return mark.authority, mark.spec, mark.permit, figure


def _same_construction(first: PendingOriginal, other: PendingOriginal) -> bool:
    """Whether the two specifications can be one cylinder; a permit leaves that open."""
    if SPECIAL_PERMIT in {first.spec, other.spec}:
        return True
    return _us_code(first.spec) == _us_code(other.spec)


def _us_code(spec: str) -> str:
    """Return the US specification that ``spec`` is the same as."""
    row = find(spec)
    return (row.us_equivalent if row else None) or spec


def _difference(first: PendingOriginal, others: list[PendingOriginal]) -> int | None:
    """Return the largest difference from the first pressure, in hundredths of a per cent.

    Per cent of the smaller pressure, to the nearest hundredth; ``None`` where one is missing.
    """
    pressures = [mark.pressure for mark in (first, *others)]
    known = [_exact(pressure) for pressure in pressures if pressure is not None]
    if len(known) < len(pressures):
        return None
    base = known[0]
    return max(
        (20_000 * abs(base - other) + min(base, other)) // (2 * min(base, other))
        for other in known[1:]
    )


def _exact(pressure: Quantity) -> int:
    """Return a whole pressure in a unit that psi and bar share; exact."""
    return int(pressure.value) * _FACTOR[pressure.unit]


def _shown(difference: int | None) -> str | None:
    """Return hundredths of a per cent as per cent with two decimals."""
    if difference is None:
        return None
    return f"{difference // 100}.{difference % 100:02d}"
