"""The specifications a mark can name: one dated table of figures, each with its source.

>>> SPECIFICATIONS["3AL"].factor
Fraction(5, 3)
>>> find("3ALM").us_equivalent
'3AL'
>>> find("5Q") is None
True
"""

from cylinders.rules.specifications.other import FOREIGN, OTHER, SPECIAL_PERMIT, metric_twin
from cylinders.rules.specifications.pressure import (
    exact_minimum,
    minimum_test_pressure,
    service_pressure_when_not_marked,
)
from cylinders.rules.specifications.row import (
    EDITION,
    Interval,
    IntervalRow,
    Material,
    PressureRule,
    Specification,
)
from cylinders.rules.specifications.seamless import SEAMLESS
from cylinders.rules.specifications.welded import WELDED

_US = (*SEAMLESS, *WELDED, *OTHER)
#: US specifications that have a metric Canadian twin: those whose mark carries its own pressure.
_WITH_TWIN = tuple(
    spec
    for spec in (*SEAMLESS, *WELDED)
    if spec.test is PressureRule.FACTOR and spec.code[-1] > "9"
)

#: every row by its code, US rows first
SPECIFICATIONS: dict[str, Specification] = {
    spec.code: spec for spec in (*_US, *map(metric_twin, _WITH_TWIN))
}


def find(code: str) -> Specification | None:
    """Return the row for ``code`` ("3AL", "3ALM", "SPECIAL_PERMIT"), or ``None``."""
    return SPECIFICATIONS.get(code)


__all__ = [
    "EDITION",
    "FOREIGN",
    "SPECIAL_PERMIT",
    "SPECIFICATIONS",
    "Interval",
    "IntervalRow",
    "Material",
    "PressureRule",
    "Specification",
    "exact_minimum",
    "find",
    "minimum_test_pressure",
    "service_pressure_when_not_marked",
]
