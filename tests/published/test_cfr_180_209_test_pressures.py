"""49 CFR 180.209(a) Table 1: minimum test pressures, and (m) with part 180 appendix C.

Annual edition revised 2019-10-01. A minimum is rounded up.
"""

import datetime as dt
from decimal import Decimal

import pytest

from cylinders.rules.eddy_current import Examination, Need, judge
from cylinders.rules.proof_pressure import pressure_reached, required_pressure
from cylinders.rules.quantity import Quantity, psi
from cylinders.rules.specifications import SPECIFICATIONS
from cylinders.rules.verdict import Outcome

COVERS = ["test_pressure_5_3_ceiling"]
DAY = dt.date(2026, 11, 20)


@pytest.mark.parametrize(
    ("code", "service", "required"),
    [
        ("3A", 1800, 3000),
        ("3AA", 2015, 3359),
        ("3AA", 2250, 3750),
        ("3AA", 2400, 4000),
        ("3AA", 3442, 5737),
        ("3AL", 3000, 5000),
        ("3AL", 3300, 5500),
        ("3HT", 1850, 3084),
        ("3B", 300, 600),
        ("4BA", 240, 480),
        ("4DA", 900, 1800),
        ("4E", 240, 480),
    ],
)
def test_factor_times_service_pressure(code: str, service: int, required: int) -> None:
    assert required_pressure(SPECIFICATIONS[code], psi(service)) == psi(required)


def test_specification_3_has_a_fixed_test_pressure() -> None:
    assert required_pressure(SPECIFICATIONS["3"], None) == psi(3000)


def test_a_permit_gives_no_factor_of_its_own() -> None:
    """One steel permit stamped 3442 is tested at 3/2 of 3500, and not at 5/3 of 3442."""
    assert required_pressure(SPECIFICATIONS["SPECIAL_PERMIT"], psi(3442)) is None


def test_short_by_a_fraction_is_short() -> None:
    required = Quantity(Decimal(3359), "psi")
    assert pressure_reached(psi("3358.34"), required, on=DAY).outcome is Outcome.FAIL
    assert pressure_reached(psi(3359), required, on=DAY).outcome is Outcome.OK


@pytest.mark.parametrize(
    ("crack", "outcome"), [("0", Outcome.OK), ("1", Outcome.UNKNOWN), ("2", Outcome.FAIL)]
)
def test_m_two_thread_lengths_condemn(crack: str, outcome: Outcome) -> None:
    seen = Examination("pass", Decimal(crack), "EC-1", "ring 4")
    assert judge(seen, Need.ASKED, on=DAY).outcome is outcome
