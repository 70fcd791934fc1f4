"""49 CFR 180.209(a), Table 1, and its paragraphs (b), (e), (f), (g), (h), (j), (m).

Edition read: annual edition revised 2019-10-01; the row of 3AL and the periods of (e) after the
text of about December 2020 (85 FR 68790, in force 2020-11-30).
"""

import datetime as dt

import pytest

from cylinders.rules.cylinder_facts import CylinderFacts, Service
from cylinders.rules.duties import Basis, DutyKind, State, due
from cylinders.rules.intervals import next_requalification
from cylinders.rules.month import Month
from tests.rules.cast import aluminium, industrial, marks

ON = dt.date(2026, 11, 25)
TABLE_1 = {
    "3": 5,
    "3A": 5,
    "3AA": 5,
    "3AL": 5,
    "3AX": 5,
    "3AAX": 5,
    "3B": 5,
    "3BN": 5,
    "3HT": 3,
    "3T": 5,
    "4AA480": 5,
    "4B": 5,
    "4BA": 5,
    "4BW": 5,
    "4B240ET": 5,
    "4D": 5,
    "4DA": 5,
    "4DS": 5,
    "4E": 5,
    "FOREIGN": 5,
}
TEN_YEARS_FOR_LISTED_GASES = ["3A", "3AA", "3B", "3BN", "4AA480", "3A480X"]
TWELVE_YEARS_IN_EXTINGUISHERS = ["3A", "3AA", "3AL", "4B", "4BA", "4BW", "4B240ET"]
TWELVE_YEARS_NON_CORROSIVE = ["4B", "4BA", "4BW", "4E"]
EXTERNAL_VISUAL = ["3A", "3AA", "3A480X", "3B", "4AA480", "4B", "4BA", "4BW", "4B240ET", "4E"]


def years(facts: CylinderFacts, on: dt.date = ON) -> float:
    """Years from the latest mark to the last day in date."""
    found = next_requalification(facts, on=on)
    assert found.months is not None
    return found.months / 12


@pytest.mark.parametrize(("spec", "expected"), TABLE_1.items())
def test_the_general_period_of_each_specification(spec: str, expected: int) -> None:
    assert years(industrial(spec, "2025-03")) == expected


@pytest.mark.parametrize("spec", ["3A", "3AA", "3AL"])
def test_scuba_has_five_years_whatever_the_mark(spec: str) -> None:
    for mark in ("2025-03", "2025-03 star", "2025-03 +"):
        assert years(industrial(spec, mark, service=Service.SCUBA)) == 5


@pytest.mark.parametrize("spec", ["3E", "4L"])
def test_no_requalification_is_asked_of(spec: str) -> None:
    assert not next_requalification(industrial(spec), on=ON).required


@pytest.mark.parametrize("spec", TABLE_1)
def test_b_the_star_gives_ten_years_to_3a_and_3aa_only_and_never_under_water(spec: str) -> None:
    starred = industrial(spec, "2025-03 star")
    assert years(starred) == (10 if spec in {"3A", "3AA"} else TABLE_1[spec])
    wet = industrial(spec, "2025-03 star", service=Service.SCUBA)
    assert years(wet) == TABLE_1[spec]


@pytest.mark.parametrize("spec", TABLE_1)
def test_e_non_corrosive_service_of_four_specifications_has_twelve_years(spec: str) -> None:
    facts = industrial(spec, "2025-03", service=Service.NON_CORROSIVE)
    assert years(facts) == (12 if spec in TWELVE_YEARS_NON_CORROSIVE else TABLE_1[spec])


@pytest.mark.parametrize("spec", TWELVE_YEARS_NON_CORROSIVE)
def test_e_after_a_proof_test_it_is_ten_and_before_november_2020_it_was_ten(spec: str) -> None:
    facts = industrial(spec, "2018-03 S", service=Service.NON_CORROSIVE)
    assert years(facts) == 10
    measured = industrial(spec, "2018-03", service=Service.NON_CORROSIVE)
    assert years(measured, dt.date(2020, 11, 29)) == 10


@pytest.mark.parametrize("spec", TEN_YEARS_FOR_LISTED_GASES)
def test_f_h_listed_gases_have_ten_years(spec: str) -> None:
    assert years(industrial(spec, "2025-03", service=Service.LISTED_GAS)) == 10


@pytest.mark.parametrize("spec", EXTERNAL_VISUAL)
def test_g_an_external_visual_lasts_five_years_in_its_own_services_only(spec: str) -> None:
    seen = industrial(spec, "2025-03 E", service=Service.NON_CORROSIVE)
    assert years(seen) == 5
    air = next_requalification(industrial(spec, "2025-03 E", service=Service.SCUBA), on=ON)
    assert air.due is None


@pytest.mark.parametrize("spec", TWELVE_YEARS_IN_EXTINGUISHERS)
def test_j_a_fire_extinguisher_has_twelve_years(spec: str) -> None:
    assert years(industrial(spec, "2025-03", service=Service.FIRE)) == 12


def test_m_6351_t6_is_examined_by_eddy_current_every_five_years() -> None:
    """The first examination falls on the first five-year date after 2007-01-01."""
    facts = aluminium(alloy="6351-T6", requalifications=marks("2021-11 VE"), last_visual=None)
    duty = next(d for d in due(facts, on=ON) if d.kind is DutyKind.THREAD_EXAMINATION)
    assert duty.rule.months == 60
    assert duty.rule.basis is Basis.LAW
    assert duty.state is State.DUE_THIS_MONTH
    assert str(duty.cites) == "49 CFR 180.209(m) (2019-10-01)"


@pytest.mark.parametrize(
    "service", [Service.FIRE, Service.INDUSTRIAL, Service.LISTED_GAS, Service.NON_CORROSIVE]
)
def test_m_is_not_for_other_services(service: Service) -> None:
    facts = aluminium(alloy="6351-T6", service=service)
    assert all(d.kind is not DutyKind.THREAD_EXAMINATION for d in due(facts, on=ON))


@pytest.mark.parametrize(
    ("made", "abroad", "examined"),
    [
        (Month(1990, 1), False, True),
        (Month(1990, 2), False, False),
        (Month(1993, 5), True, True),
        (Month(1993, 5), None, True),
    ],
)
def test_the_alloy_is_taken_for_granted_as_the_advisory_says(
    made: Month,
    abroad: bool | None,  # noqa: FBT001 - a table row
    examined: bool,  # noqa: FBT001 - a table row
) -> None:
    """US DOT Notice 94-7, second-hand: until shown otherwise."""
    facts = aluminium(alloy=None, first_test=made, made_outside_us=abroad)
    duty = next(d for d in due(facts, on=ON) if d.kind is DutyKind.THREAD_EXAMINATION)
    assert (duty.rule.basis is Basis.LAW) is examined
