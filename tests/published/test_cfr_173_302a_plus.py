"""49 CFR 173.302a(b), ten per cent over the marked pressure, and 180.213(f)(3), the plus.

173.302a(b) was read second-hand (an older edition and a military manual that mirrors it); 180.213
in the annual edition revised 2019-10-01.
"""

import datetime as dt

import pytest

from cylinders.rules.fill_pressure import highest
from cylinders.rules.quantity import psi
from cylinders.rules.specifications import SPECIFICATIONS
from cylinders.rules.status import fit_for_fill
from tests.rules.cast import industrial, marks, steel

ON = dt.date(2026, 11, 25)
MAY_CARRY_A_PLUS = {"3A", "3AX", "3AA", "3AAX", "3T"}
TESTED = [code for code, spec in SPECIFICATIONS.items() if spec.intervals]


@pytest.mark.parametrize("code", TESTED)
def test_only_five_specifications_are_filled_ten_per_cent_over(code: str) -> None:
    facts = industrial(code, "2024-12 +", service_pressure=psi(2000))
    top = str(highest(facts, on=ON).pressure)
    assert top == ("2200 psi" if code in MAY_CARRY_A_PLUS else "2000 psi")


@pytest.mark.parametrize(
    ("marked", "top"), [(1800, 1980), (2015, 2216), (2250, 2475), (2400, 2640), (3000, 3300)]
)
def test_ten_per_cent_is_never_rounded_up(marked: int, top: int) -> None:
    facts = steel(service_pressure=psi(marked), requalifications=marks("2024-05 +"))
    assert highest(facts, on=ON).pressure == psi(top)


def test_the_plus_counts_only_after_the_latest_date() -> None:
    renewed = steel(requalifications=marks("2019-05 +", "2024-05 +"))
    lapsed = steel(requalifications=marks("2019-05 +", "2024-05"))
    assert highest(renewed, on=ON).plus
    assert not highest(lapsed, on=ON).plus


@pytest.mark.parametrize(
    ("disc", "code"), [(True, None), (None, "plus_relief_unknown"), (False, "over_pressure")]
)
def test_the_relief_must_be_a_frangible_disc(
    disc: bool | None,  # noqa: FBT001 - a table row
    code: str | None,
) -> None:
    facts = steel(requalifications=marks("2024-05 +"), relief_is_frangible_disc=disc)
    verdict = fit_for_fill(facts, on=ON, requested_pressure=psi(2475))
    assert [reason.code for reason in verdict.reasons] == ([code] if code else [])
