import datetime as dt

import pytest

from cylinders.rules.cylinder_facts import CylinderFacts
from cylinders.rules.fill_pressure import highest, judge_pressure, plus_stands
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity, QuantityError, bar, cc, psi
from cylinders.rules.verdict import Certainty, Outcome
from tests.rules.cast import TODAY, aluminium, industrial, marks, steel

PLUS = steel(requalifications=marks("2024-05 +"))


@pytest.mark.parametrize(
    ("facts", "pressure"),
    [
        (PLUS, "2475 psi"),
        (steel(requalifications=marks("2024-05 +/VE")), "2475 psi"),
        (steel(requalifications=marks("2019-05", "2024-05 +")), "2475 psi"),
        (steel(requalifications=marks("2019-05 +", "2024-05")), "2250 psi"),
        (steel(requalifications=marks("2024-05 +", "2024-05")), "2250 psi"),
        (steel(requalifications=marks("2024-05")), "2250 psi"),
        (steel(requalifications=()), "2250 psi"),
        (steel(requalifications=marks("2021-10 +")), "2250 psi"),
        (steel(requalifications=marks("2021-11 +")), "2475 psi"),
        (steel(requalifications=marks("2026-12 +")), "2250 psi"),
        (steel(requalifications=marks("2024-05", "2026-12 +")), "2250 psi"),
        (steel(requalifications=marks("2024-05 +", "2025-05 E")), "2250 psi"),
        (aluminium(requalifications=marks("2024-05 +")), "3000 psi"),
        (steel(specification="3AAM", requalifications=marks("2024-05 +")), "2250 psi"),
        (steel(specification=None, requalifications=marks("2024-05 +")), "2250 psi"),
        (steel(country="CA", requalifications=marks("2024-05 +")), "2250 psi"),
        (steel(service_pressure=psi(2015), requalifications=marks("2024-05 +")), "2216 psi"),
        (steel(service_pressure=bar(155), requalifications=marks("2024-05 +")), "170 bar"),
        (steel(service_pressure=psi(2250), relief_is_frangible_disc=False), "2250 psi"),
    ],
)
def test_the_highest_pressure_is_the_mark_or_the_plus_where_it_stands(
    facts: CylinderFacts, pressure: str
) -> None:
    assert str(highest(facts, on=TODAY).pressure) == pressure


@pytest.mark.parametrize(
    ("spec", "stands"),
    [
        ("3A", True),
        ("3AX", True),
        ("3AA", True),
        ("3AAX", True),
        ("3T", True),
        ("3", False),
        ("3AL", False),
        ("3B", False),
        ("3HT", False),
        ("4B", False),
        ("SPECIAL_PERMIT", False),
    ],
)
def test_five_specifications_may_carry_a_plus(
    spec: str,
    stands: bool,  # noqa: FBT001 - a table row
) -> None:
    facts = industrial(spec, "2024-05 +", service_pressure=psi(2250))
    assert plus_stands(facts, on=TODAY) is stands


def test_another_relief_than_a_disc_takes_the_plus_away() -> None:
    facts = steel(requalifications=marks("2024-05 +"), relief_is_frangible_disc=False)
    assert str(highest(facts, on=TODAY).pressure) == "2250 psi"


def test_the_plus_runs_out_with_the_test() -> None:
    assert highest(PLUS, on=dt.date(2029, 5, 31)).plus
    assert not highest(PLUS, on=dt.date(2029, 6, 1)).plus


def test_a_plus_after_the_first_test_date_stands_until_the_next_test() -> None:
    new = steel(first_test=Month(2024, 5), requalifications=marks("2024-05 +"))
    assert str(highest(new, on=TODAY).pressure) == "2475 psi"


@pytest.mark.parametrize(
    ("spec", "pressure"), [("3", "1800 psi"), ("3E", "1800 psi"), ("8", "250 psi"), ("3AA", "None")]
)
def test_a_specification_stamped_without_a_pressure_has_its_own(spec: str, pressure: str) -> None:
    assert str(highest(industrial(spec, "2024-05"), on=TODAY).pressure) == pressure


def test_a_pressure_that_is_not_known_stays_unknown() -> None:
    facts = steel(service_pressure=None, specification=None)
    top = highest(facts, on=TODAY)
    assert (top.marked, top.pressure) == (None, None)
    for wanted in (None, psi(100)):
        finding = judge_pressure(facts, top, wanted)
        assert finding is not None
        assert (finding.code, finding.outcome) == ("pressure_unknown", Outcome.UNKNOWN)


@pytest.mark.parametrize(
    ("facts", "wanted", "code"),
    [
        (PLUS, None, None),
        (PLUS, psi(2250), None),
        (PLUS, psi("2250.1"), "plus_relief_unknown"),
        (PLUS, psi(2475), "plus_relief_unknown"),
        (PLUS, psi(2476), "over_pressure"),
        (PLUS, bar("170.7"), "over_pressure"),
        (steel(), psi(2251), "over_pressure"),
        (steel(), bar("155.13"), None),
        (steel(), bar("155.14"), "over_pressure"),
    ],
)
def test_a_wanted_pressure_is_held_against_the_marks_without_rounding(
    facts: CylinderFacts, wanted: Quantity | None, code: str | None
) -> None:
    finding = judge_pressure(facts, highest(facts, on=TODAY), wanted)
    assert (finding.code if finding else None) == code
    if finding:
        known = finding.code == "over_pressure"
        assert finding.outcome is (Outcome.FAIL if known else Outcome.UNKNOWN)


@pytest.mark.parametrize(
    ("facts", "source"), [(PLUS, "49 CFR 173.302a(b)"), (steel(), "49 CFR 173.301a(c)")]
)
def test_the_rule_behind_the_height_is_cited(facts: CylinderFacts, source: str) -> None:
    assert highest(facts, on=TODAY).cites.source == source


def test_a_plus_without_a_pressure_gives_no_pressure() -> None:
    facts = steel(service_pressure=None, requalifications=marks("2024-05 +"))
    assert highest(facts, on=TODAY).pressure is None


def test_a_plus_without_a_known_due_day_gives_nothing() -> None:
    permit = steel(permit="99999", requalifications=marks("2024-05 +"))
    assert not highest(permit, on=TODAY).plus


def test_a_pressure_of_less_than_one_pascal_is_still_a_pressure() -> None:
    tiny = bar("0.000001")
    assert judge_pressure(steel(), highest(steel(), on=TODAY), tiny) is None


def test_with_the_disc_recorded_the_plus_may_be_filled() -> None:
    facts = steel(requalifications=marks("2024-05 +"), relief_is_frangible_disc=True)
    top = highest(facts, on=TODAY)
    assert judge_pressure(facts, top, psi(2475)) is None
    over = judge_pressure(facts, top, psi(2476))
    assert over is not None
    assert over.says == "2476 psi is over the 2475 psi that the marks allow."
    assert over.cites.source == "49 CFR 173.302a(b)"
    assert over.cites.certainty is Certainty.SECOND_HAND


@pytest.mark.parametrize("wanted", [psi(0), psi(-1), cc(100)])
def test_what_is_no_pressure_to_fill_to_is_refused(wanted: Quantity) -> None:
    with pytest.raises(QuantityError, match="is no pressure to fill to"):
        judge_pressure(steel(), highest(steel(), on=TODAY), wanted)
