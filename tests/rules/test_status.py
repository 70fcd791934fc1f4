import datetime as dt
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders.rules.cylinder_facts import CylinderFacts, Gas, Service
from cylinders.rules.extra_rows import ExtraRows, PermitRow
from cylinders.rules.gas import MixError
from cylinders.rules.month import Month
from cylinders.rules.quantity import QuantityError, bar, cc, psi
from cylinders.rules.status import FillVerdict, fit_for_fill
from cylinders.rules.verdict import Certainty, Citation, Outcome
from tests.rules.cast import TODAY, aluminium, industrial, marks, month, steel

EAN32 = Decimal("0.32")


def verdict(facts: CylinderFacts, **asked: object) -> FillVerdict:
    return fit_for_fill(facts, on=TODAY, **asked)  # type: ignore[arg-type] # what is asked varies


def codes(facts: CylinderFacts, **asked: object) -> list[str]:
    return [reason.code for reason in verdict(facts, **asked).reasons]


@pytest.mark.parametrize("facts", [steel(), aluminium()])
def test_a_cylinder_in_date_may_be_filled_to_its_mark(facts: CylinderFacts) -> None:
    fill = verdict(facts)
    assert fill.allowed
    assert fill.reasons == ()
    assert fill.notes == ()
    assert fill.max_pressure == facts.service_pressure


@pytest.mark.parametrize(
    ("changes", "code", "outcome"),
    [
        ({"condemned": True}, "condemned", Outcome.FAIL),
        ({"rejected": True}, "rejected", Outcome.FAIL),
        ({"specification": "39"}, "not_refillable", Outcome.FAIL),
        ({"authority": None}, "authority_unknown", Outcome.UNKNOWN),
        ({"requalifications": marks("2021-10")}, "requalification_overdue", Outcome.FAIL),
        ({"specification": None}, "requalification_unknown", Outcome.UNKNOWN),
        ({"permit": "99999"}, "requalification_unknown", Outcome.UNKNOWN),
        ({"country": "FR"}, "requalification_unknown", Outcome.UNKNOWN),
        ({"last_visual": month("2025-10")}, "internal_visual_overdue", Outcome.FAIL),
        ({"service_pressure": None}, "pressure_unknown", Outcome.UNKNOWN),
        ({"life_end": month("2026-10")}, "life_ended", Outcome.FAIL),
        ({"gas": Gas.NITROX}, "oxygen_clean_unknown", Outcome.UNKNOWN),
        ({"gas": Gas.OXYGEN, "oxygen_clean": False}, "not_oxygen_clean", Outcome.FAIL),
    ],
)
def test_each_reason_alone_stops_the_fill(
    changes: dict[str, object], code: str, outcome: Outcome
) -> None:
    facts = replace(steel(last_oxygen_clean=month("2026-05")), **changes)  # type: ignore[arg-type] # a table of changes
    fill = verdict(facts)
    assert not fill.allowed
    assert [(reason.code, reason.outcome) for reason in fill.reasons] == [(code, outcome)]
    assert fill.reasons[0].says
    assert fill.reasons[0].cites.source


@pytest.mark.parametrize(
    ("changes", "source"),
    [
        ({"condemned": True}, "49 CFR 180.205(i)(2)-(3) (2019-10-01)"),
        ({"rejected": True}, "49 CFR 180.205(h) (2019-10-01)"),
        ({"not_refillable": True}, "49 CFR 178.65 (2019-10-01)"),
        ({"authority": None}, "49 CFR 178.35(f) (2019-10-01)"),
    ],
)
def test_what_stands_against_the_cylinder_itself_is_cited(
    changes: dict[str, object], source: str
) -> None:
    facts = replace(steel(), **changes)  # type: ignore[arg-type] # a table of changes
    assert str(verdict(facts).reasons[0].cites) == source


def test_every_reason_is_given_at_once() -> None:
    facts = aluminium(
        authority=None,
        alloy="6351-T6",
        rejected=True,
        requalifications=marks("2019-05"),
        last_visual=None,
        service_pressure=None,
        gas=Gas.NITROX,
        oxygen_clean=False,
        life_end=month("2020-01"),
    )
    assert codes(facts) == [
        "rejected",
        "authority_unknown",
        "life_ended",
        "requalification_overdue",
        "internal_visual_overdue",
        "thread_examination_unknown",
        "oxygen_cleaning_unknown",
        "not_oxygen_clean",
        "pressure_unknown",
    ]


@pytest.mark.parametrize(
    "changes",
    [
        {"condemned": True},
        {"rejected": True},
        {"specification": "39"},
        {"life_end": month("2026-10")},
        {"specification": "3HT", "fills": 4380},
    ],
)
def test_what_may_never_be_filled_has_no_highest_pressure_and_no_second_chance(
    changes: dict[str, object],
) -> None:
    facts = replace(steel(requalifications=marks("2015-05")), **changes)  # type: ignore[arg-type] # a table of changes
    fill = verdict(facts)
    assert fill.max_pressure is None
    assert fill.notes == ()


def test_a_cylinder_out_of_date_may_be_used_until_empty_and_not_refilled() -> None:
    fill = verdict(steel(requalifications=marks("2021-10")))
    assert fill.max_pressure == psi(2250)
    assert [note.code for note in fill.notes] == ["use_until_empty"]
    assert fill.notes[0].says == (
        "If it was filled by 2026-10-31, it may be used until empty. Do not refill it."
    )
    assert str(fill.notes[0].cites) == "49 CFR 180.205(c) (2019-10-01)"


def test_a_late_visual_gives_no_leave_to_use_it_up() -> None:
    assert verdict(steel(last_visual=month("2025-10"))).notes == ()


def test_a_note_is_a_caution() -> None:
    late = verdict(steel(requalifications=marks("2021-10")))
    plus = verdict(steel(requalifications=marks("2024-05 +")))
    assert {note.outcome for note in (*late.notes, *plus.notes)} == {Outcome.CAUTION}


def test_an_unknown_test_date_gives_no_leave_to_use_it_up() -> None:
    assert verdict(steel(requalifications=(), first_test=None)).notes == ()


def test_on_the_last_day_of_the_month_it_is_filled_and_on_the_next_it_is_not() -> None:
    facts = steel(requalifications=marks("2021-11"))
    assert fit_for_fill(facts, on=dt.date(2026, 11, 30)).allowed
    assert not fit_for_fill(facts, on=dt.date(2026, 12, 1)).allowed


def test_a_missed_visual_says_that_it_is_practice_and_not_law() -> None:
    reason = verdict(steel(last_visual=month("2025-10"))).reasons[0]
    assert "Common practice, not law." in reason.says
    assert reason.cites.certainty is Certainty.COMMON_PRACTICE


@pytest.mark.parametrize(
    ("fo2", "clean", "expected"),
    [
        ("0.21", None, []),
        ("0.235", None, []),
        ("0.236", None, ["oxygen_cleaning_unknown", "oxygen_clean_unknown"]),
        ("0.32", False, ["oxygen_cleaning_unknown", "not_oxygen_clean"]),
        ("0.32", True, ["oxygen_cleaning_unknown"]),
    ],
)
def test_the_share_of_oxygen_decides_what_counts_as_enriched(
    fo2: str,
    clean: bool | None,  # noqa: FBT001 - a table row
    expected: list[str],
) -> None:
    assert codes(steel(oxygen_clean=clean), fo2=Decimal(fo2)) == expected


def test_nitrox_goes_into_a_cylinder_that_is_clean_and_was_looked_at_this_year() -> None:
    clean = steel(oxygen_clean=True, last_oxygen_clean=month("2026-05"))
    assert verdict(clean, fo2=EAN32).allowed
    late = replace(clean, last_oxygen_clean=month("2025-10"))
    assert codes(late, fo2=EAN32) == ["oxygen_cleaning_overdue"]


@pytest.mark.parametrize(
    ("gas", "fo2", "certainty"),
    [
        (Gas.NITROX, None, Certainty.COMMON_PRACTICE),
        (Gas.AIR, "0.40", Certainty.COMMON_PRACTICE),
        (Gas.AIR, "0.401", Certainty.SECOND_HAND),
        (Gas.OXYGEN, None, Certainty.SECOND_HAND),
    ],
)
def test_above_forty_per_cent_common_practice_is_cited_below_it_the_shop_s_rule(
    gas: Gas, fo2: str | None, certainty: Certainty
) -> None:
    share = Decimal(fo2) if fo2 else None
    reasons = verdict(steel(gas=gas, oxygen_clean=False), fo2=share).reasons
    assert reasons[-1].code == "not_oxygen_clean"
    assert reasons[-1].cites.certainty is certainty


def test_a_share_that_cannot_be_is_refused() -> None:
    with pytest.raises(MixError, match="oxygen share 32 is not possible"):
        verdict(steel(), fo2=Decimal(32))


@pytest.mark.parametrize("asked", [psi(2250), bar("155.13")])
def test_a_pressure_within_the_mark_is_allowed(asked: object) -> None:
    assert verdict(steel(), requested_pressure=asked).allowed


def test_a_pressure_over_the_mark_is_not() -> None:
    assert codes(steel(), requested_pressure=psi(2251)) == ["over_pressure"]
    with pytest.raises(QuantityError):
        verdict(steel(), requested_pressure=cc(1))


def test_a_plus_gives_the_higher_pressure_and_asks_for_the_disc() -> None:
    facts = steel(requalifications=marks("2024-05 +"))
    fill = verdict(facts)
    assert fill.allowed
    assert fill.max_pressure == psi(2475)
    assert [note.code for note in fill.notes] == ["plus_conditions"]
    assert codes(facts, requested_pressure=psi(2475)) == ["plus_relief_unknown"]
    seen = replace(facts, relief_is_frangible_disc=True)
    assert verdict(seen, requested_pressure=psi(2475)).allowed
    assert verdict(seen).notes == ()


def test_a_permit_that_ran_out_stops_the_fill() -> None:
    row = PermitRow(
        permit="99999",
        interval_months=60,
        cites=Citation("DOT-SP 99999"),
        expires=dt.date(2026, 11, 24),
    )
    facts = steel(specification="SPECIAL_PERMIT", permit="99999")
    reasons = verdict(facts, extra=ExtraRows(permits=(row,))).reasons
    assert [(one.code, one.outcome) for one in reasons] == [("permit_expired", Outcome.UNKNOWN)]
    valid = replace(row, expires=TODAY)
    assert codes(facts, extra=ExtraRows(permits=(valid,))) == []
    assert codes(facts, extra=ExtraRows(permits=(replace(row, expires=None),))) == []


@pytest.mark.parametrize(
    ("changes", "stopped"),
    [
        ({}, True),
        ({"underwater_mark": False}, True),
        ({"underwater_mark": True}, False),
        ({"service": Service.SCBA}, False),
        ({"material": "steel"}, False),
        ({"authority": "DOT"}, False),
    ],
)
def test_a_un_composite_goes_under_water_only_with_its_mark(
    changes: dict[str, object],
    stopped: bool,  # noqa: FBT001 - a table row
) -> None:
    facts = steel(
        authority="UN",
        specification="ISO 11119-2",
        material="composite",
        life_end=month("2035-03"),
    )
    changed = replace(facts, **changes)  # type: ignore[arg-type] # a table of changes
    found = [one for one in verdict(changed).reasons if one.code == "not_for_underwater"]
    assert bool(found) is stopped
    for one in found:
        assert one.outcome is Outcome.FAIL
        assert str(one.cites) == "49 CFR 178.71(q)(18) (2019-10-01)"


@pytest.mark.parametrize("fills", [None, 4380])
def test_a_3ht_is_held_to_its_number_of_fills(fills: int | None) -> None:
    facts = industrial("3HT", "2025-04", first_test=Month(2012, 3), service_pressure=psi(1850))
    assert codes(replace(facts, fills=100)) == []
    assert codes(replace(facts, fills=fills)) == [
        "fills_ended" if fills else "fills_unknown",
    ]


@given(
    st.builds(
        CylinderFacts,
        authority=st.sampled_from(["DOT", "TC", "UN", None]),
        specification=st.sampled_from(["3AA", "3AL", "3HT", "39", "SPECIAL_PERMIT", None]),
        requalifications=st.sampled_from([(), marks("2024-05"), marks("2024-05 +")]),
        last_visual=st.sampled_from([None, Month(2026, 5)]),
        service_pressure=st.sampled_from([None, psi(3000)]),
        condemned=st.booleans(),
        rejected=st.booleans(),
        gas=st.sampled_from(Gas),
        oxygen_clean=st.sampled_from([None, True, False]),
    )
)
@settings(max_examples=200)
def test_nothing_is_allowed_that_is_unknown_condemned_or_late(facts: CylinderFacts) -> None:
    fill = verdict(facts)
    assert fill.allowed == (not fill.reasons)
    never = facts.condemned or facts.rejected or facts.specification == "39"
    unknown = None in (facts.authority, facts.specification) or not facts.requalifications
    if never or unknown or facts.specification == "SPECIAL_PERMIT":
        assert not fill.allowed
    if facts.condemned:
        assert fill.max_pressure is None
