import datetime as dt
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders.rules.countries import CountryRow, row
from cylinders.rules.cylinder_facts import CylinderFacts, Requalification, Service
from cylinders.rules.extra_rows import DatedCountry, ExtraRows, PermitRow
from cylinders.rules.intervals import NextRequalification, next_requalification
from cylinders.rules.month import Month
from cylinders.rules.specifications import SPECIFICATIONS
from cylinders.rules.symbols import SYMBOLS
from cylinders.rules.verdict import Certainty, Citation
from tests.rules.cast import TODAY, aluminium, industrial, marks, month, steel

PERMIT = PermitRow(
    permit="99999",
    interval_months=60,
    test_factor=Fraction(3, 2),
    cites=Citation("DOT-SP 99999, paragraph 7"),
)
OWN = ExtraRows(permits=(PERMIT,))


def following(facts: CylinderFacts, on: dt.date = TODAY) -> NextRequalification:
    return next_requalification(facts, on=on)


@pytest.mark.parametrize(
    ("facts", "due", "months"),
    [
        (steel(requalifications=marks("2021-11")), "2026-11-30", 60),
        (steel(requalifications=marks("2023-02")), "2028-02-29", 60),
        (steel(requalifications=marks("2021-11 +")), "2026-11-30", 60),
        (steel(requalifications=()), "2014-05-31", 60),
        (steel(requalifications=marks("2024-05 UE")), "2029-05-31", 60),
        (steel(requalifications=marks("2024-05 AE")), "2029-05-31", 60),
        (aluminium(requalifications=marks("2021-11 VE")), "2026-11-30", 60),
        (aluminium(requalifications=marks("2021-11 +/VE")), "2026-11-30", 60),
        (aluminium(service=Service.FIRE, requalifications=marks("2021-11")), "2033-11-30", 144),
        (industrial("3AA", "2019-11 star"), "2029-11-30", 120),
        (industrial("3AA", "2019-11 star", "2024-01"), "2029-01-31", 60),
        (industrial("3AL", "2019-11 star"), "2024-11-30", 60),
        (industrial("3B", "2022-01", service=Service.LISTED_GAS), "2032-01-31", 120),
        (industrial("3B", "2022-01 E", service=Service.LISTED_GAS), "2027-01-31", 60),
        (industrial("3HT", "2025-04"), "2028-04-30", 36),
        (industrial("4B", "2022-01"), "2027-01-31", 60),
        (industrial("4B", "2022-01", service=Service.NON_CORROSIVE), "2034-01-31", 144),
        (industrial("4B", "2022-01 S", service=Service.NON_CORROSIVE), "2032-01-31", 120),
        (industrial("4B", "2022-01 E", service=Service.NON_CORROSIVE), "2027-01-31", 60),
        (industrial("4B", "2022-01 S", service=Service.FIRE), "2029-01-31", 84),
        (industrial("3AA", "2024-05", service=Service.SCBA), "2029-05-31", 60),
        (industrial("3AA", "2024-05", service=Service.OXYGEN), "2029-05-31", 60),
        (industrial("3ALM", "2024-05", authority="TC"), "2029-05-31", 60),
    ],
)
def test_the_last_day_in_date_by_specification_service_and_mark(
    facts: CylinderFacts, due: str, months: int
) -> None:
    result = following(facts)
    assert str(result.due) == due
    assert result.months == months
    assert result.code == "period"
    assert result.required


@pytest.mark.parametrize("service", [Service.SCUBA, Service.SCBA, Service.OXYGEN])
def test_a_star_gives_ten_years_to_nobody_who_breathes_from_it(service: Service) -> None:
    result = following(steel(service=service, requalifications=marks("2019-11 star")))
    assert str(result.due) == "2024-11-30"
    assert "The star's ten years do not hold here." in result.notes


def test_a_star_that_holds_needs_no_note() -> None:
    assert following(industrial("3A", "2019-11 star")).notes == ()


def test_the_note_on_a_star_looks_at_the_latest_mark_that_counts() -> None:
    result = following(steel(requalifications=marks("2023-11 star", "2024-01 E")))
    assert result.notes == (
        "2024-01 E (external visual) does not count here.",
        "The star's ten years do not hold here.",
    )


@pytest.mark.parametrize("service", [Service.NON_CORROSIVE, Service.FIRE])
def test_the_first_period_after_manufacture_may_be_longer_than_the_later_ones(
    service: Service,
) -> None:
    new = industrial("4B", service=service, first_test=Month(2015, 1))
    assert str(following(new).due) == "2027-01-31"
    tested = replace(new, requalifications=marks("2015-01 S"))
    assert str(following(tested).due) < "2027-01-31"


def test_the_period_of_non_corrosive_service_became_twelve_years_in_november_2020() -> None:
    facts = industrial("4B", "2015-01", service=Service.NON_CORROSIVE)
    assert following(facts, dt.date(2020, 11, 29)).months == 120
    assert following(facts, dt.date(2020, 11, 30)).months == 144


@pytest.mark.parametrize(
    ("written", "passed_over", "due"),
    [
        ("2023-07 E", "2023-07 E (external visual) does not count here.", "2029-05-31"),
        (
            "2023-07 S",
            "2023-07 S (proof pressure (or DOT 8 shell)) does not count here.",
            "2029-05-31",
        ),
        ("2023-07 FS", "2023-07 FS (shell and porous filler) does not count here.", "2029-05-31"),
        ("2025-07 V", "2025-07 V (not a symbol of 180.213(f)) does not count here.", "2029-05-31"),
    ],
)
def test_a_mark_that_does_not_count_is_passed_over_and_said(
    written: str, passed_over: str, due: str
) -> None:
    result = following(steel(requalifications=marks("2024-05", written)))
    assert str(result.due) == due
    assert result.notes == (passed_over,)


def test_a_mark_that_lies_ahead_never_counts() -> None:
    result = following(steel(requalifications=marks("2024-05", "2026-12")))
    assert str(result.due) == "2029-05-31"
    assert result.notes == ("2026-12 lies ahead and is not counted.",)


def test_a_mark_of_this_month_counts_although_its_last_day_lies_ahead() -> None:
    assert following(steel(requalifications=marks("2026-11"))).since == Month(2026, 11)


def test_an_eddy_current_mark_counts_and_asks_for_the_record() -> None:
    result = following(aluminium(requalifications=marks("2024-05 VE")))
    assert result.notes == (
        "VE is eddy current and visual: the record must show the pressure test too.",
    )


def test_a_plain_mark_after_an_eddy_current_mark_asks_for_nothing() -> None:
    assert following(aluminium(requalifications=marks("2019-05 VE", "2024-05"))).notes == ()


def test_a_test_done_early_starts_its_own_period() -> None:
    early = following(steel(requalifications=marks("2019-05", "2022-01")))
    assert str(early.due) == "2027-01-31"


def test_the_order_in_which_marks_are_given_does_not_matter() -> None:
    one = following(steel(requalifications=marks("2014-05", "2024-05", "2019-05")))
    other = following(steel(requalifications=marks("2024-05", "2019-05", "2014-05")))
    assert one == other


@pytest.mark.parametrize("first", [None, Month(2026, 12)])
def test_without_a_test_that_counts_the_date_is_unknown(first: Month | None) -> None:
    result = following(steel(requalifications=marks("2023-07 E"), first_test=first))
    assert result.code == "date_unknown"
    assert result.says == "No test date that counts is known: read the stamp."
    assert str(result.cites) == "49 CFR 180.205(c) (2019-10-01)"
    assert (result.due, result.since) == (None, None)
    assert result.required
    assert result.months == 60
    assert result.notes


@pytest.mark.parametrize("spec", ["3E", "4L", "39"])
def test_three_specifications_ask_for_no_requalification(spec: str) -> None:
    result = following(industrial(spec, first_test=Month(1990, 1)))
    assert not result.required
    assert result.due is None
    assert result.says == f"{spec} asks for no requalification."
    assert result.code == "none_required"
    assert str(result.cites) == "49 CFR 180.209(a) Table 1 (2019-10-01)"


@pytest.mark.parametrize(
    ("standard", "material", "months"),
    [
        ("ISO 9809-1", None, 120),
        ("ISO 7866", None, 120),
        ("ISO 9809-1", "steel", 120),
        ("ISO 99999", "aluminium", 120),
        ("ISO 11119-2", "composite", 60),
        ("ISO 11119-2", None, 60),
        ("ISO 9809-1", "composite", 60),
        ("ISO 99999", None, 60),
    ],
)
def test_a_un_receptacle_has_ten_years_only_where_it_is_known_to_be_metal(
    standard: str, material: str | None, months: int
) -> None:
    facts = steel(authority="UN", specification=standard, material=material)
    result = following(facts)
    assert result.months == months
    assert str(result.due) == ("2034-05-31" if months == 120 else "2029-05-31")


@pytest.mark.parametrize("standard", [None, "", "3AA"])
def test_a_un_receptacle_without_its_standard_is_not_known(standard: str | None) -> None:
    result = following(steel(authority="UN", specification=standard))
    assert result.code == "specification_unknown"
    assert str(result.cites) == "49 CFR 180.209(a) (2019-10-01)"


def test_an_iso_standard_without_the_un_mark_has_no_period_in_the_us() -> None:
    facts = steel(authority="ISO", specification="ISO 7866")
    assert following(facts).code == "specification_unknown"


def test_a_german_strength_test_counts() -> None:
    facts = steel(authority="UN", specification="ISO 7866", requalifications=marks("2024-05 F"))
    assert str(following(facts).due) == "2034-05-31"


def test_a_proof_test_counts_for_a_un_receptacle() -> None:
    facts = steel(authority="UN", specification="ISO 7866", requalifications=marks("2020-02 S"))
    assert str(following(facts).due) == "2030-02-28"


@pytest.mark.parametrize(
    ("permit", "extra", "code"),
    [
        ("99999", ExtraRows(), "permit_unknown"),
        (None, OWN, "permit_unknown"),
        ("99998", OWN, "permit_unknown"),
        ("99999", ExtraRows(permits=(replace(PERMIT, interval_months=None),)), "permit_unknown"),
        ("99999", OWN, "period"),
    ],
)
def test_a_permit_is_unknown_until_its_interval_is_entered(
    permit: str | None, extra: ExtraRows, code: str
) -> None:
    facts = steel(specification="SPECIAL_PERMIT", permit=permit)
    result = next_requalification(facts, on=TODAY, extra=extra)
    assert result.code == code
    assert (result.due is None) == (code == "permit_unknown")
    if code == "permit_unknown":
        assert result.says.startswith(f"Special permit {permit or 'of unknown number'}: ")
        source = "49 CFR 180.209(a) Table 1, 180.205(c) (2019-10-01)"
        assert str(result.cites) == source


def test_a_permit_number_beside_another_specification_still_asks_for_the_permit() -> None:
    result = following(steel(permit="99999"))
    assert result.code == "permit_unknown"
    assert "99999" in result.says


def test_a_permit_stays_a_permit_beside_a_un_mark() -> None:
    assert following(steel(authority="UN", specification="SPECIAL_PERMIT")).code == (
        "permit_unknown"
    )


def test_an_entered_permit_is_cited_as_the_owner_gave_it() -> None:
    facts = steel(specification="SPECIAL_PERMIT", permit="99999")
    result = next_requalification(facts, on=TODAY, extra=OWN)
    assert str(result.cites) == "DOT-SP 99999, paragraph 7"


def test_a_specification_that_is_not_known_has_no_interval_in_the_us() -> None:
    result = following(steel(specification=None))
    assert (result.code, result.due) == ("specification_unknown", None)


def test_a_service_that_the_specification_is_not_for_has_no_interval() -> None:
    assert following(industrial("8", "2024-05")).code == "service_unknown"
    assert following(industrial("3AA", "2024-05", service=Service.ACETYLENE)).code == (
        "service_unknown"
    )


@pytest.mark.parametrize(
    ("written", "due"),
    [
        (("2020-01 FS",), "2030-01-31"),
        (("2020-01 FS", "2028-01 S"), "2038-01-31"),
        (("2028-01 S",), "2015-01-31"),
        ((), "2015-01-31"),
    ],
)
def test_an_acetylene_cylinder_needs_its_shell_and_its_filler(
    written: tuple[str, ...], due: str
) -> None:
    facts = industrial("8AL", *written, service=Service.ACETYLENE, first_test=Month(2010, 1))
    assert str(following(facts, dt.date(2030, 6, 1)).due) == due


@pytest.mark.parametrize(
    ("country", "due"),
    [
        ("US", "2034-05-31"),
        ("GB", "2029-05-31"),
        ("DE", "2029-05-31"),
        ("CH", "2029-05-31"),
        ("CA", "2029-05-31"),
        ("NZ", "2026-05-31"),
        ("nz", "2026-05-31"),
    ],
)
def test_the_country_s_row_shortens_a_longer_period(country: str, due: str) -> None:
    facts = steel(authority="UN", specification="ISO 7866", country=country)
    assert str(following(facts).due) == due


def test_the_specification_s_row_stands_where_the_country_s_is_longer() -> None:
    result = following(industrial("3HT", "2025-04", country="GB"))
    assert str(result.due) == "2028-04-30"


def test_a_cylinder_of_another_system_has_the_period_of_the_country() -> None:
    result = following(steel(authority="EN", specification="EN 1964-1", country="GB"))
    assert str(result.due) == "2029-05-31"
    assert result.cites.certainty is Certainty.SECOND_HAND


def test_a_specification_that_is_not_known_is_unknown_in_every_country() -> None:
    for country in ("US", "GB", "NZ"):
        result = following(steel(specification=None, country=country))
        assert result.code == "specification_unknown"


def test_a_permit_that_was_not_entered_is_unknown_in_every_country() -> None:
    result = following(steel(specification="SPECIAL_PERMIT", permit="99999", country="GB"))
    assert result.code == "permit_unknown"


def test_single_trip_stays_single_trip_abroad_and_3e_gets_the_national_period() -> None:
    assert not following(industrial("39", country="GB", first_test=Month(2020, 1))).required
    assert following(industrial("3E", country="GB", first_test=Month(2020, 1))).months == 60


def test_a_country_without_a_row_is_unknown_until_an_owner_adds_one() -> None:
    facts = steel(country="FR")
    assert following(facts).code == "country_unknown"
    french = CountryRow(
        country="FR",
        name="France",
        requalification_months=24,
        visual_months=12,
        cites=Citation("owner's row"),
        visual_cites=Citation("owner's row"),
    )
    extra = ExtraRows(countries=(DatedCountry(row=french),))
    assert str(next_requalification(facts, on=TODAY, extra=extra).due) == "2026-05-31"


def test_an_owner_s_country_row_holds_from_its_day() -> None:
    german = row("DE")
    assert german is not None
    shorter = replace(german, requalification_months=30)
    extra = ExtraRows(
        countries=(
            DatedCountry(row=shorter, since=dt.date(2026, 7, 1)),
            DatedCountry(row=replace(german, requalification_months=48)),
        )
    )
    facts = steel(country="DE")
    before = next_requalification(facts, on=dt.date(2026, 6, 30), extra=extra)
    after = next_requalification(facts, on=dt.date(2026, 7, 1), extra=extra)
    assert (before.months, after.months) == (48, 30)


@pytest.mark.parametrize(
    ("stamped", "changes", "due", "code"),
    [
        ("2027-03", {}, "2027-03-31", "stamped_due"),
        ("2027-03", {"requalifications": marks("2021-01")}, "2026-01-31", "period"),
        ("2024-05", {"requalifications": marks("2019-05")}, "2024-05-31", "stamped_due"),
        ("2027-03", {"requalifications": (), "first_test": None}, "2027-03-31", "stamped_due"),
        ("2027-03", {"specification": "SPECIAL_PERMIT"}, "2027-03-31", "stamped_due"),
        ("2027-03", {"specification": "3E", "country": "US"}, "2027-03-31", "stamped_due"),
    ],
)
def test_a_stamped_next_date_counts_unless_the_tests_end_earlier(
    stamped: str, changes: dict[str, object], due: str, code: str
) -> None:
    facts = replace(steel(country="DE", stamped_due=month(stamped)), **changes)  # type: ignore[arg-type] # a table of changes
    result = following(facts)
    assert (str(result.due), result.code) == (due, code)
    if code == "stamped_due":
        assert result.says == f"The stamp gives {stamped} as the next date."
        assert str(result.cites) == "stamp that names the next date"
        assert result.required


@pytest.mark.parametrize(
    ("months", "words"), [(60, "5 years"), (12, "1 year"), (24, "2 years"), (30, "30 months")]
)
def test_a_period_is_told_in_years_where_it_is_whole_years(months: int, words: str) -> None:
    extra = ExtraRows(permits=(replace(PERMIT, interval_months=months),))
    facts = steel(specification="SPECIAL_PERMIT", permit="99999")
    result = next_requalification(facts, on=TODAY, extra=extra)
    assert result.says == f"{words} from 2024-05."


MONTHS = st.builds(Month, st.integers(1950, 2020), st.integers(1, 12))
TESTED = st.lists(st.builds(Requalification, MONTHS, st.sampled_from(sorted(SYMBOLS))), max_size=4)
FACTS = st.builds(
    CylinderFacts,
    authority=st.sampled_from(["DOT", "TC", "UN", None]),
    specification=st.sampled_from(sorted(SPECIFICATIONS)) | st.none(),
    first_test=MONTHS | st.none(),
    requalifications=TESTED.map(tuple),
    service=st.sampled_from(Service),
    country=st.sampled_from(["US", "GB", "NZ", "FR"]),
)


def shifted(facts: CylinderFacts, months: int) -> CylinderFacts:
    first = facts.first_test
    return replace(
        facts,
        first_test=first.plus_months(months) if first else None,
        requalifications=tuple(
            replace(mark, month=mark.month.plus_months(months)) for mark in facts.requalifications
        ),
    )


@given(FACTS, st.integers(0, 600))
@settings(max_examples=200)
def test_shifting_every_date_shifts_the_due_month_by_as_much(
    facts: CylinderFacts, months: int
) -> None:
    on = dt.date(2100, 1, 1)  # after every date, and the same rows hold
    plain, later = following(facts, on).due, following(shifted(facts, months), on).due
    assert (plain is None) == (later is None)
    if plain is not None and later is not None:
        assert Month.of(plain).plus_months(months) == Month.of(later)
        assert later == Month.of(later).last_day


@given(FACTS, st.permutations(range(4)))
@settings(max_examples=100)
def test_the_answer_does_not_hang_on_the_order_of_the_marks(
    facts: CylinderFacts, order: list[int]
) -> None:
    shuffled = tuple(
        facts.requalifications[place] for place in order if place < len(facts.requalifications)
    )
    there = following(facts)
    back = following(replace(facts, requalifications=shuffled))
    assert (there.due, there.since, there.months) == (back.due, back.since, back.months)


@given(FACTS, MONTHS)
@settings(max_examples=100)
def test_one_more_plain_test_never_brings_the_due_day_forward_in_general_service(
    facts: CylinderFacts, added: Month
) -> None:
    scuba = replace(facts, service=Service.SCUBA)
    later = Requalification(max(added, facts.first_test or added), "")
    more = replace(scuba, requalifications=(*scuba.requalifications, later))
    before, after = following(scuba).due, following(more).due
    assert before is None or (after is not None and after >= before)
