from dataclasses import replace

import pytest

from cylinders.rules.countries import CountryRow
from cylinders.rules.cylinder_facts import CylinderFacts, Gas, Service
from cylinders.rules.duties import Basis, Duty, DutyKind, State, due
from cylinders.rules.extra_rows import DatedCountry, ExtraRows
from cylinders.rules.month import Month
from cylinders.rules.verdict import Certainty, Citation
from tests.rules.cast import TODAY, aluminium, industrial, marks, month, steel


def one(facts: CylinderFacts, kind: DutyKind, extra: ExtraRows | None = None) -> Duty:
    """The one duty of that kind."""
    duties = [d for d in due(facts, on=TODAY, extra=extra or ExtraRows()) if d.kind is kind]
    assert len(duties) == 1
    return duties[0]


@pytest.mark.parametrize(
    ("facts", "kinds"),
    [
        (steel(), "requalification internal_visual thread_examination valve_service"),
        (
            steel(gas=Gas.NITROX),
            "requalification internal_visual thread_examination oxygen_cleaning valve_service",
        ),
        (industrial("3AA", "2024-05"), "requalification"),
        (industrial("3AA", "2024-05", gas=Gas.OXYGEN), "requalification oxygen_cleaning"),
        (steel(specification="3E"), "internal_visual thread_examination valve_service"),
        (steel(specification="39"), ""),
        (steel(condemned=True), ""),
        (steel(specification=None), "requalification internal_visual thread_examination valve_s"),
    ],
)
def test_which_duties_a_cylinder_has(facts: CylinderFacts, kinds: str) -> None:
    assert " ".join(duty.kind for duty in due(facts, on=TODAY)).startswith(kinds)
    assert bool(due(facts, on=TODAY)) == bool(kinds)


def test_the_requalification_is_law_and_says_from_when_it_counts() -> None:
    duty = one(steel(requalifications=marks("2021-11")), DutyKind.REQUALIFICATION)
    assert duty.state is State.DUE_THIS_MONTH
    assert duty.rule.basis is Basis.LAW
    assert duty.last_done == Month(2021, 11)
    assert duty.says == (
        "Requalification: due this month, good through 2026-11-30. 5 years from 2021-11."
    )
    assert str(duty.cites) == "49 CFR 180.209(a) Table 1 (2019-10-01)"


def test_the_requalification_says_what_was_passed_over() -> None:
    duty = one(steel(requalifications=marks("2024-05", "2025-07 S")), DutyKind.REQUALIFICATION)
    assert duty.says.endswith(
        "5 years from 2024-05. 2025-07 S (proof pressure (or DOT 8 shell)) does not count here."
    )


def test_an_unknown_permit_is_an_unknown_duty_with_what_to_enter() -> None:
    duty = one(steel(specification="SPECIAL_PERMIT", permit="99999"), DutyKind.REQUALIFICATION)
    assert duty.state is State.UNKNOWN
    assert "Special permit 99999" in duty.says
    assert duty.stops_fill


@pytest.mark.parametrize(
    ("changes", "state", "last"),
    [
        ({"last_visual": month("2025-11")}, State.DUE_THIS_MONTH, "2025-11"),
        ({"last_visual": month("2025-10")}, State.OVERDUE, "2025-10"),
        ({"last_visual": None}, State.OVERDUE, "2024-05"),
        ({"last_visual": None, "requalifications": marks("2026-03")}, State.IN_DATE, "2026-03"),
        ({"last_visual": None, "requalifications": marks("2026-03 S")}, State.IN_DATE, "2026-03"),
        ({"last_visual": None, "requalifications": marks("2026-03 +")}, State.IN_DATE, "2026-03"),
        ({"last_visual": None, "requalifications": marks("2026-03 VE")}, State.IN_DATE, "2026-03"),
        (
            {"last_visual": None, "requalifications": marks("2026-03 star")},
            State.IN_DATE,
            "2026-03",
        ),
        ({"last_visual": None, "requalifications": marks("2026-03 UE")}, State.UNKNOWN, None),
        ({"last_visual": None, "requalifications": marks("2026-03 E")}, State.UNKNOWN, None),
        ({"last_visual": month("2026-12"), "requalifications": ()}, State.UNKNOWN, None),
        ({"last_visual": None, "requalifications": ()}, State.UNKNOWN, None),
    ],
)
def test_the_visual_counts_from_the_latest_look_inside(
    changes: dict[str, object], state: State, last: str | None
) -> None:
    facts = replace(steel(), **changes)  # type: ignore[arg-type] # a table of changes
    duty = one(facts, DutyKind.INTERNAL_VISUAL)
    assert duty.state is state
    assert duty.last_done == (month(last) if last else None)


def test_the_maker_s_own_test_is_no_internal_visual() -> None:
    new = steel(first_test=Month(2026, 3), requalifications=marks("2026-03 +"), last_visual=None)
    duty = one(new, DutyKind.INTERNAL_VISUAL)
    assert (duty.state, duty.last_done) == (State.UNKNOWN, None)


def test_in_the_us_the_yearly_visual_is_practice_and_stops_a_fill() -> None:
    duty = one(steel(last_visual=month("2025-10")), DutyKind.INTERNAL_VISUAL)
    assert duty.rule.basis is Basis.COMMON_PRACTICE
    assert duty.cites.certainty is Certainty.COMMON_PRACTICE
    assert duty.stops_fill
    assert "Common practice, not law." in duty.says


@pytest.mark.parametrize(
    ("country", "end", "basis"),
    [
        ("US", "2027-05-31", Basis.COMMON_PRACTICE),
        ("CA", "2027-05-31", Basis.COMMON_PRACTICE),
        ("NZ", "2027-05-31", Basis.COMMON_PRACTICE),
        ("GB", "2028-11-30", Basis.COMMON_PRACTICE),
        ("CH", "2028-11-30", Basis.COMMON_PRACTICE),
        ("DE", "2028-11-30", Basis.LAW),
        ("FR", "2027-05-31", Basis.COMMON_PRACTICE),
    ],
)
def test_the_visual_period_is_the_country_s(country: str, end: str, basis: Basis) -> None:
    duty = one(steel(country=country), DutyKind.INTERNAL_VISUAL)
    assert (str(duty.due), duty.rule.basis) == (end, basis)
    own_row = country in ("GB", "CH", "DE", "NZ")
    expected = Certainty.SECOND_HAND if own_row else Certainty.COMMON_PRACTICE
    assert duty.cites.certainty is expected


def test_a_country_row_without_a_visual_period_leaves_the_yearly_practice() -> None:
    none = CountryRow(
        country="FR",
        name="France",
        requalification_months=60,
        visual_months=None,
        cites=Citation("owner's row"),
        visual_cites=Citation("owner's row"),
    )
    extra = ExtraRows(countries=(DatedCountry(row=none),))
    duty = one(steel(country="FR"), DutyKind.INTERNAL_VISUAL, extra)
    assert str(duty.due) == "2027-05-31"
    assert duty.cites.certainty is Certainty.COMMON_PRACTICE


def test_a_stamped_next_date_stands_for_the_visual_until_one_is_recorded() -> None:
    stamped = steel(
        country="DE", stamped_due=month("2027-03"), last_visual=None, requalifications=()
    )
    duty = one(stamped, DutyKind.INTERNAL_VISUAL)
    assert (str(duty.due), duty.last_done) == ("2027-03-31", None)
    assert "The stamp gives it." in duty.says
    looked = replace(stamped, last_visual=month("2026-05"))
    assert str(one(looked, DutyKind.INTERNAL_VISUAL).due) == "2028-11-30"


@pytest.mark.parametrize(
    ("changes", "state", "last"),
    [
        ({"requalifications": marks("2024-05")}, State.UNKNOWN, None),
        ({"requalifications": marks("2024-05 VE")}, State.IN_DATE, "2024-05"),
        ({"requalifications": marks("2019-05 VE", "2024-05")}, State.OVERDUE, "2019-05"),
        ({"last_thread_examination": month("2022-02")}, State.IN_DATE, "2022-02"),
        ({"last_thread_examination": month("2021-11")}, State.DUE_THIS_MONTH, "2021-11"),
    ],
)
def test_a_6351_cylinder_needs_its_eddy_current_every_five_years_by_law(
    changes: dict[str, object], state: State, last: str | None
) -> None:
    facts = replace(aluminium(alloy="6351-T6"), **changes)  # type: ignore[arg-type] # a table of changes
    duty = one(facts, DutyKind.THREAD_EXAMINATION)
    assert duty.state is state
    assert duty.last_done == (month(last) if last else None)
    assert duty.rule.basis is Basis.LAW
    assert duty.stops_fill == (state in (State.UNKNOWN, State.OVERDUE))
    assert "Alloy 6351-T6. Eddy current and visual." in duty.says
    assert str(duty.cites) == "49 CFR 180.209(m) (2019-10-01)"


def test_an_old_aluminium_cylinder_of_unknown_alloy_is_treated_as_6351() -> None:
    duty = one(aluminium(alloy=None, first_test=month("1987-03")), DutyKind.THREAD_EXAMINATION)
    assert duty.stops_fill
    assert "until shown otherwise" in duty.says


@pytest.mark.parametrize("facts", [steel(), aluminium()])
def test_other_threads_are_looked_at_with_the_visual_and_stop_nothing_by_themselves(
    facts: CylinderFacts,
) -> None:
    duty = one(facts, DutyKind.THREAD_EXAMINATION)
    assert duty.last_done == Month(2026, 5)
    assert duty.rule.basis is Basis.COMMON_PRACTICE
    unknown = replace(facts, last_visual=None, requalifications=())
    assert not one(unknown, DutyKind.THREAD_EXAMINATION).stops_fill


def test_a_thread_examination_of_its_own_counts_for_other_threads_too() -> None:
    duty = one(
        steel(last_thread_examination=month("2026-08"), country="GB"), DutyKind.THREAD_EXAMINATION
    )
    assert (duty.last_done, str(duty.due)) == (Month(2026, 8), "2029-02-28")


@pytest.mark.parametrize(
    ("last", "state"),
    [(None, State.UNKNOWN), ("2025-10", State.OVERDUE), ("2026-05", State.IN_DATE)],
)
def test_oxygen_cleaning_lasts_a_year_by_memory(last: str | None, state: State) -> None:
    cleaned = month(last) if last else None
    duty = one(steel(gas=Gas.NITROX, last_oxygen_clean=cleaned), DutyKind.OXYGEN_CLEANING)
    assert duty.state is state
    assert duty.stops_fill == (state is not State.IN_DATE)
    assert "Figure from memory." in duty.says


def test_a_late_valve_service_is_listed_and_stops_nothing() -> None:
    duty = one(steel(last_valve_service=month("2020-01")), DutyKind.VALVE_SERVICE)
    assert duty.state is State.OVERDUE
    assert not duty.stops_fill


def test_a_valve_serviced_ahead_of_today_counts_as_unknown() -> None:
    assert one(steel(last_valve_service=month("2027-01")), DutyKind.VALVE_SERVICE).due is None


def test_service_words_are_the_ones_of_the_command() -> None:
    assert Service("scuba").breathing
    assert not Service("industrial").breathing
