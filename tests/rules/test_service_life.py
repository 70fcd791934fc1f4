import datetime as dt
from dataclasses import replace

import pytest

from cylinders.rules.cylinder_facts import CylinderFacts
from cylinders.rules.extra_rows import ExtraRows, PermitRow
from cylinders.rules.month import Month
from cylinders.rules.service_life import judge_life, life_ends
from cylinders.rules.verdict import Certainty, Citation, Outcome
from tests.rules.cast import TODAY, industrial, month, steel

AIRCRAFT = industrial("3HT", "2025-04", first_test=Month(2012, 3), fills=100)
WRAPPED = steel(
    specification="SPECIAL_PERMIT", permit="99998", material="composite", first_test=Month(2012, 3)
)
FIFTEEN = ExtraRows(
    permits=(
        PermitRow(
            permit="99998", interval_months=60, life_months=180, cites=Citation("DOT-SP 99998")
        ),
    )
)


def codes(facts: CylinderFacts, on: dt.date = TODAY, extra: ExtraRows | None = None) -> list[str]:
    return [finding.code for finding in judge_life(facts, on=on, extra=extra or ExtraRows())]


def test_a_3ht_serves_24_years_through_the_last_day_of_the_month() -> None:
    end, cites = life_ends(AIRCRAFT, on=TODAY)
    assert end == Month(2036, 3)
    assert str(cites) == "49 CFR 180.205(i)(1)(v) (2019-10-01)"
    assert codes(AIRCRAFT, dt.date(2036, 3, 31)) == []
    assert codes(AIRCRAFT, dt.date(2036, 4, 1)) == ["life_ended"]


@pytest.mark.parametrize(
    ("fills", "found"),
    [(0, []), (4379, []), (4380, ["fills_ended"]), (4381, ["fills_ended"])],
)
def test_a_3ht_serves_4380_fills(fills: int, found: list[str]) -> None:
    findings = judge_life(replace(AIRCRAFT, fills=fills), on=TODAY)
    assert [finding.code for finding in findings] == found
    for finding in findings:
        assert finding.outcome is Outcome.FAIL
        assert finding.says == f"{fills} fills done; 3HT may have 4380. Never fill again."
        assert str(finding.cites) == "49 CFR 180.205(i)(1)(v) (2019-10-01)"


def test_unknown_fills_or_an_unknown_birthday_are_unknown_and_not_good() -> None:
    findings = judge_life(replace(AIRCRAFT, fills=None, first_test=None), on=TODAY)
    assert [finding.code for finding in findings] == ["life_unknown", "fills_unknown"]
    assert {finding.outcome for finding in findings} == {Outcome.UNKNOWN}
    assert findings[1].says == "Number of fills not known; 3HT may have 4380."
    assert str(findings[1].cites) == "49 CFR 180.205(i)(1)(v) (2019-10-01)"


def test_both_ends_are_told_at_once() -> None:
    assert codes(replace(AIRCRAFT, fills=5000), dt.date(2040, 1, 1)) == [
        "life_ended",
        "fills_ended",
    ]


@pytest.mark.parametrize("spec", ["3AA", "3AL", None])
def test_a_metal_cylinder_has_no_end_of_life(spec: str | None) -> None:
    assert codes(steel(specification=spec)) == []
    assert life_ends(steel(specification=spec), on=TODAY)[0] is None


def test_a_stamped_final_month_ends_the_life_of_any_cylinder() -> None:
    facts = steel(authority="UN", specification="ISO 11119-2", life_end=month("2026-11"))
    assert codes(facts) == []
    late = judge_life(facts, on=dt.date(2026, 12, 1))
    assert late[0].says == "Service life ended on 2026-11-30. Never fill it again."
    assert late[0].outcome is Outcome.FAIL
    assert str(late[0].cites) == "49 CFR 178.71(q)(19)-(21) (2019-10-01)"


def test_a_composite_without_a_known_end_is_unknown() -> None:
    findings = judge_life(WRAPPED, on=TODAY)
    assert [finding.code for finding in findings] == ["life_unknown"]
    assert str(findings[0].cites) == "49 CFR 180.205(c) (2019-10-01)"
    assert codes(replace(WRAPPED, life_end=month("2027-03"))) == []


def test_a_permit_row_gives_the_life_of_its_composite() -> None:
    assert codes(WRAPPED, dt.date(2027, 3, 31), FIFTEEN) == []
    assert codes(WRAPPED, dt.date(2027, 4, 1), FIFTEEN) == ["life_ended"]
    assert codes(replace(WRAPPED, first_test=None), TODAY, FIFTEEN) == ["life_unknown"]
    assert codes(replace(WRAPPED, material="steel", first_test=None), TODAY, FIFTEEN) == [
        "life_unknown"
    ]


def test_a_permit_row_without_a_life_sets_none() -> None:
    row = PermitRow(permit="99998", interval_months=60, cites=Citation("DOT-SP 99998"))
    metal = replace(WRAPPED, material="steel")
    assert codes(metal, TODAY, ExtraRows(permits=(row,))) == []


def test_of_two_ends_the_earlier_one_counts() -> None:
    both = replace(WRAPPED, life_end=month("2026-06"))
    assert life_ends(both, on=TODAY, extra=FIFTEEN)[0] == Month(2026, 6)


def test_the_canadian_twin_s_life_is_from_memory() -> None:
    _, cites = life_ends(replace(AIRCRAFT, specification="3HTM"), on=TODAY)
    assert cites.certainty is Certainty.FROM_MEMORY
