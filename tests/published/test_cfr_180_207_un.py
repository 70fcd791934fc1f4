"""49 CFR 180.207(c) and 178.71, UN pressure receptacles, annual edition revised 2019-10-01."""

import datetime as dt

import pytest

from cylinders.rules.cylinder_facts import Service
from cylinders.rules.intervals import next_requalification
from cylinders.rules.markings import read
from cylinders.rules.stamp_facts import facts_from
from cylinders.rules.status import fit_for_fill
from tests.rules.cast import marks, month, steel

ON = dt.date(2026, 11, 25)


@pytest.mark.parametrize(
    ("standard", "material", "years"),
    [
        ("ISO 9809-1", "steel", 10),
        ("ISO 9809-2", None, 10),
        ("ISO 9809-3", None, 10),
        ("ISO 7866", "aluminium", 10),
        ("ISO 11119-1", "composite", 5),
        ("ISO 11119-2", "composite", 5),
        ("ISO 11119-3", "composite", 5),
    ],
)
def test_ten_years_for_metal_and_five_for_composite(
    standard: str, material: str | None, years: int
) -> None:
    facts = steel(
        authority="UN",
        specification=standard,
        material=material,
        requalifications=marks("2021-06"),
    )
    found = next_requalification(facts, on=ON)
    assert found.months == 12 * years
    assert str(found.cites) == "49 CFR 180.207(c) (2019-10-01)"


def test_the_stamp_of_178_71_q_gives_ten_years_from_the_initial_inspection() -> None:
    reading = read(
        "25E USA 123456 H\nPH300BAR 14.2KG 5.2MM PW200BAR 12.0L\n"
        "UN ISO 9809-1 USA/M9999 AB 2021/06",
        on=ON,
    )
    assert (
        str(next_requalification(facts_from(reading, service=Service.SCUBA), on=ON).due)
        == "2031-06-30"
    )


def test_no_filling_past_an_expired_service_life_however_recent_the_test() -> None:
    """Opening of 180.207 in a newer text, second-hand; 178.71(q)(19)-(21), 2019-10-01."""
    facts = steel(
        authority="UN",
        specification="ISO 11119-2",
        material="composite",
        underwater_mark=True,
        requalifications=marks("2026-05"),
        life_end=month("2026-10"),
    )
    verdict = fit_for_fill(facts, on=ON)
    assert [reason.code for reason in verdict.reasons] == ["life_ended"]


def test_a_un_composite_goes_under_water_only_with_uw() -> None:
    """178.71(l)(2), (q)(18)."""
    facts = steel(
        authority="UN",
        specification="ISO 11119-2",
        material="composite",
        life_end=month("2036-06"),
    )
    assert "not_for_underwater" in [r.code for r in fit_for_fill(facts, on=ON).reasons]
