"""Rows that follow no US specification of their own: single-trip, permit, foreign, Canadian.

A metric Canadian specification (3AAM, 3ALM, ...) is the twin of a US one with its pressure in bar.
CSA B339 was not read: its test factor is from memory, and so is its period except for 3AAM and
3ALM, where shop pages say five years. No plus and no star: those are US rules for US marks.
"""

from dataclasses import replace

from cylinders.rules.specifications.row import (
    Interval,
    IntervalRow,
    PressureRule,
    Specification,
    cfr,
)
from cylinders.rules.specifications.seamless import FIVE_THIRDS
from cylinders.rules.verdict import Certainty, Citation

SPECIAL_PERMIT = "SPECIAL_PERMIT"
FOREIGN = "FOREIGN"

OTHER: tuple[Specification, ...] = (
    Specification(
        code="39",
        title="non-refillable",
        cites=cfr("178.65"),
        test=PressureRule.NEVER,
        test_says="never filled again and never requalified",
        permanent_limit_percent=None,
        refillable=False,
    ),
    Specification(
        code=SPECIAL_PERMIT,
        title="special permit (DOT-SP) or exemption (DOT-E)",
        cites=cfr("180.205(c)"),
        test=PressureRule.PERMIT,
        test_says="as the permit in force says; no factor may be assumed",
        permanent_limit_percent=None,
        limit_cites=cfr("180.205(i)(1)(vii)"),
        notes=(
            "one steel permit stamped 3442 is tested at 5250 psi, 3/2 of its design pressure",
            "all-aluminium or aluminium-lined: over-heating condemns",
        ),
    ),
    Specification(
        code=FOREIGN,
        title="not made to part 178, filled for export only",
        cites=cfr("180.209(l)"),
        test=PressureRule.FACTOR,
        factor=FIVE_THIRDS,
        test_says="as marked, and at least 5/3 of any service or working pressure marked",
        intervals=(IntervalRow(Interval.GENERAL, 5, cfr("180.209(l); 180.213(d)(2)")),),
        notes=("marked with month and year only, no RIN",),
    ),
)

_READ_TWINS = frozenset({"3AA", "3AL"})
_B339_MEMORY = Citation("CSA B339", "", Certainty.FROM_MEMORY)
_B339_SHOPS = Citation("shop pages on CSA B339 cylinders", "", Certainty.SECOND_HAND)


def metric_twin(spec: Specification) -> Specification:
    """Return the metric Canadian twin of a US row: code + ``M``, pressure in bar."""
    known = _B339_SHOPS if spec.code in _READ_TWINS else _B339_MEMORY
    return replace(
        spec,
        code=f"{spec.code}M",
        title=f"{spec.title} (Canadian, pressure in bar)",
        cites=known,
        test_cites=_B339_MEMORY,
        limit_cites=_B339_MEMORY,
        life_cites=_B339_MEMORY if spec.life_years else None,
        service_min=None,
        service_max=None,
        service_fixed=None,
        unit="bar",
        plus_allowed=False,
        star_allowed=False,
        us_equivalent=spec.code,
        intervals=tuple(
            replace(row, cites=known) for row in spec.intervals if row.basis is Interval.GENERAL
        ),
    )
