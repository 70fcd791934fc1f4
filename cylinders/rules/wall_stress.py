"""The plus rating: may this cylinder be filled to 10 % over its marked pressure.

49 CFR 173.302a(b), conditions read in an older copy of the section and its table in a military
manual that mirrors it; the paragraph letters of today were not read:

    3A, 3AX, 3AA, 3AAX, 3T only; elastic expansion by the water jacket at the last test
    steel                                         average    maximum wall stress, psi
    plain carbon over 0.35 C, medium manganese    53 000     58 000
    as specified for 3AA                          67 000     73 000
    as specified for 3T                           87 000     94 000
    plain carbon under 0.35 C, before 1920        45 000     48 000

A rejection elastic expansion (REE) is never computed: it is read from the stamp or the maker. Where
none is given, the average stress 1.7 EE/(KV) - 0.4P is estimated with the values of K that
handbooks span, because the pamphlet with the official K (CGA C-5) was not read.

>>> row_for("3AA", before_1920=False).average
Fraction(67000, 1)
"""

from dataclasses import dataclass
from fractions import Fraction

from cylinders.rules.elasticity import STEEL, average_stress
from cylinders.rules.quantity import Quantity
from cylinders.rules.specifications import Specification
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say

_CONDITIONS = Citation("49 CFR 173.302a(b)", "older copy", Certainty.SECOND_HAND)
_AVERAGE = Citation("49 CFR 173.302a(b), average wall stress", "", Certainty.FROM_MEMORY)
_REE = Citation("49 CFR 173.302a(b); PHMSA letter 13-0042", "", Certainty.SECOND_HAND)


@dataclass(frozen=True, slots=True)
class PlusLimit:
    """Highest wall stress (psi) of one kind of steel for a plus."""

    steel: str
    specifications: tuple[str, ...]
    average: Fraction
    maximum: Fraction
    before_1920: bool


def _limit(
    steel: str, specifications: tuple[str, ...], average: int, maximum: int, *, old: bool = False
) -> PlusLimit:
    return PlusLimit(steel, specifications, Fraction(average), Fraction(maximum), old)


PLUS_LIMITS: tuple[PlusLimit, ...] = (
    _limit(say("plain carbon over 0.35 C or medium manganese"), ("3A", "3AX"), 53_000, 58_000),
    _limit(say("analysis and heat treatment of 3AA"), ("3AA", "3AAX"), 67_000, 73_000),
    _limit(say("analysis and heat treatment of 3T"), ("3T",), 87_000, 94_000),
    _limit(say("plain carbon under 0.35 C, before 1920"), ("3A", "3AX"), 45_000, 48_000, old=True),
)


@dataclass(frozen=True, slots=True)
class Stretch:
    """What the stress is estimated from: elastic expansion and water capacity (volumes)."""

    elastic: Fraction
    capacity: Quantity | None
    pressure: Quantity
    ree: Quantity | None


def row_for(code: str, *, before_1920: bool) -> PlusLimit | None:
    """The limits of a specification, the lower ones for a cylinder made before 1920."""
    return next(
        (
            row
            for row in PLUS_LIMITS
            if code in row.specifications
            and row.before_1920 == (before_1920 and code in {"3A", "3AX"})
        ),
        None,
    )


def plus(
    spec: Specification, stretch: Stretch | None, *, water_jacket: bool, before_1920: bool
) -> Finding:
    """Whether a plus may stand after this test (code ``plus``).

    ``stretch`` is ``None`` where no expansion was measured. ``OK`` only by a given REE;
    ``CAUTION`` where every K of the handbooks keeps the average stress within the limit;
    ``UNKNOWN`` where it depends on K or on a figure that is missing; ``FAIL`` otherwise. The
    relief disc and the visual conditions are for the technician to see.
    """
    row = row_for(spec.code, before_1920=before_1920)
    if not spec.plus_allowed or row is None:
        says = say(
            "A plus may not be stamped on a {code}: only on 3A, 3AX, 3AA, 3AAX and 3T.",
            code=spec.code,
        )
        return _found(Outcome.FAIL, says, _CONDITIONS)
    if not water_jacket or stretch is None:
        says = say("A plus needs an elastic expansion measured by the water jacket at this test.")
        return _found(Outcome.FAIL, says, _CONDITIONS)
    if stretch.ree is not None:
        return _by_ree(stretch.elastic, stretch.ree)
    return _by_average(stretch, row)


def _found(outcome: Outcome, says: str, cites: Citation) -> Finding:
    return Finding("plus", outcome, says, cites)


def _by_ree(elastic: Fraction, ree: Quantity) -> Finding:
    if elastic <= ree.base:
        says = say(
            "Elastic expansion is within the given rejection value of {ree}: plus possible.",
            ree=ree,
        )
        return _found(Outcome.OK, says, _REE)
    return _found(Outcome.FAIL, say("Elastic expansion is above {ree}: no plus.", ree=ree), _REE)


def _by_average(stretch: Stretch, row: PlusLimit) -> Finding:
    if stretch.capacity is None:
        says = say(
            "Neither a rejection elastic expansion nor the water capacity is given, so "
            "the wall stress is not known. Ask the lab how it was found."
        )
        return _found(Outcome.UNKNOWN, says, _AVERAGE)
    each = stretch.elastic / stretch.capacity.base
    worst = average_stress(each, stretch.pressure, STEEL.k_low)
    best = average_stress(each, stretch.pressure, STEEL.k_high)
    span = say(
        "between {best} and {worst} psi; the limit is {limit} psi",
        best=-(-best // 1),
        worst=-(-worst // 1),
        limit=row.average,
    )
    if worst <= row.average:
        says = say(
            "Average wall stress is estimated {span}: plus possible; see the lab's own figure.",
            span=span,
        )
        return _found(Outcome.CAUTION, says, _AVERAGE)
    if best > row.average:
        return _found(
            Outcome.FAIL,
            say("Average wall stress is estimated {span}: no plus.", span=span),
            _AVERAGE,
        )
    says = say(
        "Average wall stress is estimated {span}: it depends on K. Ask the lab for its figure.",
        span=span,
    )
    return _found(Outcome.UNKNOWN, says, _AVERAGE)
