"""49 CFR 173.301(a) and 173.301a(c), (d): what may be filled, and how far.

173.301(a) from memory and in an edition of 2005; 173.301a second-hand (an older 173.301(e)-(f) and
a military manual on air shipment, A3.3.2.6.2, which states the limit at 131 F).
"""

import datetime as dt

import pytest

from cylinders.rules.gas import HOT_LIMIT, hot_limit
from cylinders.rules.quantity import Quantity, bar, psi
from cylinders.rules.status import fit_for_fill
from cylinders.rules.verdict import Certainty
from tests.rules.cast import marks, steel

COVERS = ["limit_131F"]
ON = dt.date(2026, 11, 25)


def test_a_6_no_fill_when_requalification_is_due_and_not_done() -> None:
    assert not fit_for_fill(steel(requalifications=marks("2021-10")), on=ON).allowed


@pytest.mark.parametrize(
    ("wanted", "allowed"),
    [(psi(2250), True), (psi("2250.01"), False), (bar(155), True), (bar(156), False)],
)
def test_c_at_70_f_at_most_the_service_pressure(
    wanted: Quantity,
    allowed: bool,  # noqa: FBT001 - a table row
) -> None:
    assert fit_for_fill(steel(), on=ON, requested_pressure=wanted).allowed is allowed


@pytest.mark.parametrize(("settled", "hot"), [(psi(3000), psi(3750)), (psi(2475), psi("3093.75"))])
def test_d_at_131_f_at_most_five_quarters(settled: Quantity, hot: Quantity) -> None:
    assert hot_limit(settled) == hot
    assert HOT_LIMIT.certainty is Certainty.SECOND_HAND


def test_178_65_a_dot_39_is_never_filled_again() -> None:
    verdict = fit_for_fill(steel(specification="39"), on=ON)
    assert "not_refillable" in [reason.code for reason in verdict.reasons]
