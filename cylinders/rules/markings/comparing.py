"""Dual marks: two specifications on one cylinder must be the same one."""

from fractions import Fraction

from cylinders.rules.markings import sources
from cylinders.rules.markings.draft import Draft, PendingOriginal
from cylinders.rules.markings.reading import Dual
from cylinders.rules.quantity import ROUND_FLOOR, round_fraction
from cylinders.rules.specifications import SPECIAL_PERMIT, find

#: a pressure rounded to a whole bar is off by half a bar: under 1 % from 50 bar on
TOLERANCE_PERCENT = Fraction(1)
_HALF_UP = Fraction(1, 200)


def compare(draft: Draft) -> Dual | None:
    """Compare the first specification mark with each other one; ``None`` where there is one."""
    if len(draft.pending) < 2:  # noqa: PLR2004 - two marks make a dual mark
        return None
    first, *others = draft.pending
    others = [other for other in others if _key(other) != _key(first)]
    if not others:
        draft.warn(
            "mark_repeated",
            "The same specification mark was read twice: is it the stamp of two cylinders?",
            sources.DUAL,
        )
        return None
    if any(not _same_construction(first, other) for other in others):
        draft.warn(
            "dual_specifications_differ",
            f"{first.spec} and {others[0].spec} are different constructions: no cylinder is both",
            sources.DUAL,
        )
        return Dual(consistent=False, difference_percent=_shown(_difference(first, others)))
    difference = _difference(first, others)
    if difference is None:
        return Dual(consistent=None, difference_percent=None)
    consistent = difference <= TOLERANCE_PERCENT
    if not consistent:
        draft.warn(
            "dual_pressures_differ",
            f"The two service pressures differ by {_shown(difference)} %",
            sources.DUAL,
        )
    return Dual(consistent=consistent, difference_percent=_shown(difference))


def _key(mark: PendingOriginal) -> tuple[object, ...]:
    """Return what tells two marks apart."""
    pressure = mark.pressure.base if mark.pressure else None
    return mark.authority, mark.spec, mark.permit, pressure


def _same_construction(first: PendingOriginal, other: PendingOriginal) -> bool:
    """Whether the two specifications can be one cylinder; a permit leaves that open."""
    if SPECIAL_PERMIT in {first.spec, other.spec}:
        return True
    return _us_code(first.spec) == _us_code(other.spec)


def _us_code(spec: str) -> str:
    """Return the US specification that ``spec`` is the same as."""
    row = find(spec)
    return (row.us_equivalent if row else None) or spec


def _difference(first: PendingOriginal, others: list[PendingOriginal]) -> Fraction | None:
    """Return the largest difference from the first pressure, in per cent of the smaller one."""
    if first.pressure is None or any(other.pressure is None for other in others):
        return None
    base = first.pressure.base
    bases = [other.pressure.base for other in others if other.pressure]
    return max(100 * abs(base - other) / min(base, other) for other in bases)


def _shown(difference: Fraction | None) -> str | None:
    """Return per cent with two decimals, to the nearest."""
    if difference is None:
        return None
    return f"{round_fraction(difference + _HALF_UP, places=2, rounding=ROUND_FLOOR):f}"
