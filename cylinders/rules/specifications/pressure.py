"""Minimum test pressure of a requalification, from the specification and the marked pressure.

49 CFR 180.209(a) Table 1 (2019-10-01 edition). A required pressure is rounded up to a whole unit,
never down, so that showing it cannot turn a short test into a full one.

>>> from cylinders.rules.quantity import psi
>>> from cylinders.rules.specifications import SPECIFICATIONS
>>> str(minimum_test_pressure(SPECIFICATIONS["3AA"], psi(2015)))
'3359 psi'
>>> minimum_test_pressure(SPECIFICATIONS["SPECIAL_PERMIT"], psi(3442)) is None
True
"""

from decimal import Decimal
from fractions import Fraction

from cylinders.rules.quantity import ROUND_CEILING, UNITS, Quantity, psi, round_fraction
from cylinders.rules.specifications.row import PressureRule, Specification

#: 49 CFR 178.46, test of a 3AL: the greatest of 450 psi, twice a service pressure under 500 psi,
#: and five thirds; the larger figure is used for later tests too, so that none is short.
_ALUMINIUM_FLOOR, _ALUMINIUM_LOW = psi(450), psi(500)
_ALUMINIUM_LOW_FACTOR = 2


def exact_minimum(spec: Specification, service: Quantity | None) -> Fraction | None:
    """Required pressure in the unit of ``service`` (psi where fixed), before any rounding.

    ``None`` where no pressure follows: no test is asked for, only a permit can tell, or the
    service pressure is not known.
    """
    if spec.fixed_test is not None:
        return Fraction(spec.fixed_test.value)
    if spec.test is not PressureRule.FACTOR or spec.factor is None or service is None:
        return None
    marked = Fraction(service.value)
    required = spec.factor * marked
    if spec.code == "3AL":
        low = _ALUMINIUM_LOW_FACTOR * marked if service < _ALUMINIUM_LOW else required
        return max(required, low, _ALUMINIUM_FLOOR.base / UNITS[service.unit][1])
    return required


def minimum_test_pressure(spec: Specification, service: Quantity | None) -> Quantity | None:
    """Required pressure rounded up to a whole unit; ``None`` as for :func:`exact_minimum`."""
    exact = exact_minimum(spec, service)
    if exact is None:
        return None
    unit = service.unit if service is not None and spec.fixed_test is None else "psi"
    return Quantity(round_fraction(exact, places=0, rounding=ROUND_CEILING), unit)


def service_pressure_when_not_marked(spec: Specification) -> Quantity | None:
    """Service pressure of a specification that is stamped without one (3, 3E, 8, 8AL).

    173.301a(b): 3 and 3E 1800 psi, 8 and 8AL 250 psi (second-hand). ``None`` for any other.
    """
    if spec.code in {"3", "3E", "8", "8AL"} and spec.service_fixed is not None:
        return Quantity(Decimal(spec.service_fixed), "psi")
    return None
