"""What each finding leads to, and which verdict stands."""

from itertools import pairwise
from typing import Any

import pytest

from cylinders.rules.cylinder_facts import Service
from cylinders.rules.judgement import KnownCylinder, Verdict
from cylinders.rules.judgement.ruling import ORDER, Ruling, merged, ruling, worst_verdict
from cylinders.rules.verdict import Citation, Finding, Outcome
from tests.rules.judgement.records import (
    aircraft,
    cc,
    celsius,
    check,
    judged,
    outcome,
    permit,
    psi,
    record,
    steel,
    verdict,
)

PASSED, INVALID, HELD, REJECTED, CONDEMNED = ORDER
OVER = {
    "/permanent_expansion": cc("7.1"),
    "/total_expansion": cc("70.4"),
    "/elastic_expansion": None,
}
CONDEMNED_BY_LAB = {"/disposition": "condemned", "/stamp": None, "/reason": "see sheet"}


def test_a_good_record_passes_with_the_month_it_is_next_due() -> None:
    result = judged(record())
    assert result.verdict is PASSED
    assert str(result.next_due) == "2031-11"
    assert str(result.percent_permanent) == "1.8"
    assert str(result.required_test_pressure) == "5000 psi"
    assert str(result.elastic_expansion) == "69.2 cc"
    assert result.reasons == ()


def test_only_a_passed_test_gives_a_next_month() -> None:
    assert judged(record(OVER | CONDEMNED_BY_LAB)).next_due is None
    assert judged(record({"/hold_seconds": 20})).next_due is None


def test_no_two_checks_share_a_code() -> None:
    codes = [finding.code for finding in judged(steel({"/stamp/symbol": "+"})).checks]
    assert len(codes) == len(set(codes))


def test_every_check_names_a_source_and_says_a_sentence() -> None:
    for finding in judged(steel({"/stamp/symbol": "+"})).checks:
        assert str(finding.cites), finding.code
        assert finding.says.endswith("."), finding.code


@pytest.mark.parametrize("disposition", [{}, CONDEMNED_BY_LAB])
def test_too_much_permanent_expansion_condemns_whatever_the_lab_says(
    disposition: dict[str, Any],
) -> None:
    assert outcome(record(OVER | disposition), "permanent_expansion") == (CONDEMNED, Outcome.FAIL)


def test_exactly_at_the_limit_passes_and_is_shown_as_the_limit() -> None:
    body = record({"/permanent_expansion": cc("7.04"), "/elastic_expansion": None})
    result = judged(body)
    assert (result.verdict, str(result.percent_permanent)) == (PASSED, "10.0")
    assert check(result, "near_limit").outcome is Outcome.CAUTION


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"/test_pressure": psi("4999")}, "test_pressure"),
        ({"/hold_seconds": 29}, "hold"),
        ({"/hold_seconds": "29.9"}, "hold"),
        ({"/total_expansion": cc("0")}, "numbers_possible"),
        ({"/permanent_expansion": cc("-0.1")}, "numbers_possible"),
        ({"/permanent_expansion": cc("70.5")}, "numbers_possible"),
        ({"/elastic_expansion": cc("59.2")}, "numbers_possible"),
        ({"/test_pressure": psi("15001")}, "numbers_possible"),
        ({"/date": "2026-11-26", "/calibration": None}, "numbers_possible"),
        ({"/cylinder/first_test": "2026-12"}, "numbers_possible"),
        ({"/calibration/observed/expansion": cc("64.1")}, "calibration"),
        ({"/calibration/observed/permanent": cc("0.1")}, "calibration"),
        ({"/calibration/date": "2026-11-19"}, "calibration"),
        (
            {"/gauge": {"full_scale": psi("12000"), "accuracy_percent": "0.5", "kind": "dial"}},
            "gauge",
        ),
        ({"/reading_increment": cc("1")}, "gauge"),
        ({"/system_check_pressure": psi("4501")}, "repeat"),
        ({"/repeat_of": "NG-1", "/reason": "pump failed"}, "repeat"),
    ],
)
def test_what_is_no_valid_test_says_nothing_about_the_cylinder(
    changes: dict[str, Any], code: str
) -> None:
    result = judged(record(changes))
    assert result.verdict is INVALID
    assert check(result, code).outcome is Outcome.FAIL
    assert check(result, code).says in result.reasons


def test_expansion_over_the_limit_does_not_condemn_in_a_test_that_was_not_valid() -> None:
    result = judged(record(OVER | {"/hold_seconds": 20}))
    assert result.verdict is INVALID
    assert check(result, "permanent_expansion").outcome is Outcome.FAIL


@pytest.mark.parametrize(
    "changes",
    [
        {"/eddy_current": {"result": "fail", "crack_thread_lengths": "2"}},
        {"/heat_exposure_c": 176},
        {"/drying": {"method": "oven", "temperature": celsius("180")}},
        {"/visual/internal": "fail", **CONDEMNED_BY_LAB},
    ],
)
def test_a_condemning_inspection_stands_even_where_the_test_is_not_valid(
    changes: dict[str, Any],
) -> None:
    assert verdict(record({"/hold_seconds": 20} | changes)) is CONDEMNED


def test_a_failed_inspection_rejects_unless_the_inspector_condemned() -> None:
    failed = {"/visual/external": "fail"}
    assert outcome(record(failed), "visual") == (REJECTED, Outcome.FAIL)
    assert verdict(record(failed | {"/disposition": "rejected", "/stamp": None})) is REJECTED
    assert verdict(record(failed | CONDEMNED_BY_LAB)) is CONDEMNED


def test_failed_threads_reject_unless_the_inspector_condemned() -> None:
    failed = {"/thread_inspection": {"result": "fail", "notes": "two threads torn"}}
    result = judged(record(failed))
    assert result.verdict is REJECTED
    assert check(result, "threads").says == "Neck threads inspected: failed. two threads torn"
    assert verdict(record(failed | CONDEMNED_BY_LAB)) is CONDEMNED


def test_threads_are_not_mentioned_where_the_lab_did_not_look() -> None:
    codes = {finding.code for finding in judged(record({"/thread_inspection": None})).checks}
    assert "threads" not in codes


@pytest.mark.parametrize("part", ["internal", "external"])
def test_an_inspection_that_was_not_done_is_for_a_person(part: str) -> None:
    assert outcome(record({f"/visual/{part}": "not_done"}), "visual") == (HELD, Outcome.UNKNOWN)


def test_another_metals_standard_is_a_caution() -> None:
    assert outcome(steel({"/visual/standard": "CGA C-6.1"}), "visual") == (PASSED, Outcome.CAUTION)


# Eddy current


def examined(result: str, crack: str, equipment: str = "EC-1") -> dict[str, Any]:
    return {
        "/eddy_current": {
            "result": result,
            "crack_thread_lengths": crack,
            "equipment": equipment,
            "reference_ring": "ring 4",
        }
    }


SUSPECT = {"/cylinder/alloy": "6351-T6", "/cylinder/first_test": "1986-04"}
NOT_SHOWN = {"/cylinder/alloy": None, "/cylinder/first_test": "1986-04"}


@pytest.mark.parametrize("alloy", [SUSPECT, NOT_SHOWN])
def test_the_suspect_alloy_is_held_until_its_neck_was_examined(alloy: dict[str, Any]) -> None:
    assert outcome(record(alloy), "eddy_current") == (HELD, Outcome.UNKNOWN)
    assert verdict(record(alloy | examined("pass", "0"))) is PASSED
    assert verdict(record(alloy | {"/use": "industrial"})) is PASSED


@pytest.mark.parametrize(
    ("result", "crack", "expected"),
    [
        ("fail", "0", CONDEMNED),
        ("fail", "1", CONDEMNED),
        ("pass", "2", CONDEMNED),
        ("pass", "1.9", HELD),
        ("pass", "0", PASSED),
    ],
)
def test_cracks_in_the_neck(result: str, crack: str, expected: Verdict) -> None:
    assert verdict(record(SUSPECT | examined(result, crack))) is expected


def test_an_examination_of_steel_is_questioned_but_its_crack_condemns() -> None:
    assert outcome(steel(examined("pass", "0")), "eddy_current") == (PASSED, Outcome.CAUTION)
    assert verdict(steel(examined("fail", "3"))) is CONDEMNED


def test_an_examination_without_its_equipment_is_a_caution() -> None:
    body = record(SUSPECT | examined("pass", "0", equipment=""))
    assert outcome(body, "eddy_current") == (PASSED, Outcome.CAUTION)


# Heat and drying


@pytest.mark.parametrize(
    ("build", "heat", "expected"),
    [
        (record, "175.9", (PASSED, Outcome.CAUTION)),
        (record, "176", (CONDEMNED, Outcome.FAIL)),
        (record, "129.4", (PASSED, Outcome.OK)),
        (record, "129.5", (PASSED, Outcome.CAUTION)),
        (steel, "342.9", (PASSED, Outcome.OK)),
        (steel, "343", (REJECTED, Outcome.FAIL)),
        (permit, "176", (HELD, Outcome.UNKNOWN)),
        (permit, "140", (PASSED, Outcome.CAUTION)),
    ],
)
def test_heat_by_metal(build: Any, heat: str, expected: tuple[Verdict, Outcome]) -> None:
    assert outcome(build({"/heat_exposure_c": heat}), "heat") == expected


def test_over_heated_steel_is_condemned_where_the_lab_says_so() -> None:
    assert verdict(steel({"/heat_exposure_c": "400"} | CONDEMNED_BY_LAB)) is CONDEMNED


def test_drying_that_is_not_reported_stands_in_no_way() -> None:
    assert outcome(record({"/drying": None}), "drying") == (PASSED, Outcome.UNKNOWN)
    quiet = {"/drying": {"method": "air"}}
    assert outcome(record(quiet), "drying") == (PASSED, Outcome.OK)


def test_drying_an_unknown_metal_too_hot_is_for_a_person() -> None:
    hot = {"/drying": {"method": "oven", "temperature": {"value": "350", "unit": "F"}}}
    assert outcome(permit(hot), "drying") == (HELD, Outcome.UNKNOWN)


# Rejection elastic expansion and life


def test_a_3ht_above_its_rejection_elastic_expansion_is_condemned() -> None:
    assert verdict(aircraft()) is PASSED
    high = {"/total_expansion": cc("63.1"), "/elastic_expansion": cc("62.6")}
    assert outcome(aircraft(high), "elastic_expansion") == (CONDEMNED, Outcome.FAIL)
    exact = {"/total_expansion": cc("63.0"), "/elastic_expansion": cc("62.5")}
    assert verdict(aircraft(exact)) is PASSED
    assert verdict(aircraft(high | {"/hold_seconds": 3})) is INVALID


def test_a_3ht_without_its_rejection_elastic_expansion_is_held() -> None:
    assert outcome(aircraft({"/ree": None}), "elastic_expansion") == (HELD, Outcome.UNKNOWN)


def test_a_3aa_above_a_stamped_rejection_value_is_not_condemned_by_that() -> None:
    body = steel({"/ree": cc("55.0")})
    assert outcome(body, "elastic_expansion") == (PASSED, Outcome.CAUTION)


def test_a_permit_cylinder_above_its_rejection_value_is_held() -> None:
    assert outcome(permit({"/ree": cc("55.0")}), "elastic_expansion") == (HELD, Outcome.UNKNOWN)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"/cylinder/first_test": "2002-10"}, CONDEMNED),
        ({"/cylinder/first_test": "2002-11"}, PASSED),
        ({"/cylinder/first_test": None}, HELD),
        ({"/fills": 4380}, CONDEMNED),
        ({"/fills": 4379}, PASSED),
        ({"/fills": None}, PASSED),
    ],
)
def test_the_life_of_a_3ht(changes: dict[str, Any], expected: Verdict) -> None:
    assert verdict(aircraft(changes)) is expected


def test_a_single_trip_cylinder_is_never_requalified() -> None:
    body = steel({"/cylinder/specification": "39"})
    assert judged(body).next_due is None
    assert check(judged(body), "life").outcome is Outcome.FAIL
    assert verdict(body) is HELD


# Methods


def proof(changes: dict[str, Any] | None = None) -> dict[str, Any]:
    return record(
        {
            "/cylinder/specification": "4BA",
            "/cylinder/service_pressure": psi("240"),
            "/cylinder/alloy": None,
            "/cylinder/water_capacity": None,
            "/method": "proof_pressure",
            "/test_pressure": psi("480"),
            "/total_expansion": None,
            "/permanent_expansion": None,
            "/elastic_expansion": None,
            "/calibration": None,
            "/visual/standard": "CGA C-6",
            "/use": "non_corrosive",
            "/stamp/symbol": "S",
            **(changes or {}),
        }
    )


def test_a_proof_pressure_test_needs_no_expansions() -> None:
    result = judged(proof())
    assert result.verdict is PASSED
    assert (result.percent_permanent, result.elastic_expansion) == (None, None)
    assert {"near_limit", "plausible", "elastic_expansion"}.isdisjoint(
        finding.code for finding in result.checks
    )


def test_a_proof_pressure_test_does_not_requalify_a_scuba_cylinder() -> None:
    body = record(
        {
            "/method": "proof_pressure",
            "/total_expansion": None,
            "/permanent_expansion": None,
            "/elastic_expansion": None,
            "/stamp/symbol": "S",
        }
    )
    assert outcome(body, "permanent_expansion") == (HELD, Outcome.UNKNOWN)


def test_a_proof_pressure_test_with_expansions_is_questioned() -> None:
    body = proof({"/total_expansion": cc("50.0")})
    assert outcome(body, "permanent_expansion") == (HELD, Outcome.UNKNOWN)


def test_a_un_receptacle_is_judged_by_its_stamped_test_pressure() -> None:
    un = {
        "/cylinder/authority": "UN",
        "/cylinder/specification": "ISO 7866",
        "/cylinder/service_pressure": {"value": "200", "unit": "bar"},
        "/required_test_pressure": {"value": "300", "unit": "bar"},
        "/test_pressure": {"value": "300", "unit": "bar"},
        "/use": "scuba",
    }
    assert verdict(proof(un)) is PASSED
    assert str(judged(proof(un)).next_due) == "2036-11"
    assert verdict(proof(un | {"/required_test_pressure": None})) is HELD


# Permits and limits


def test_a_permit_sets_limit_and_pressure() -> None:
    assert outcome(permit(), "permit") == (PASSED, Outcome.CAUTION)
    assert verdict(permit({"/test_pressure": psi("5249")})) is INVALID
    tight = {"/limit_percent": "0.5", "/permanent_expansion": cc("0.3")}
    assert verdict(permit(tight)) is CONDEMNED


@pytest.mark.parametrize("missing", ["/limit_percent", "/required_test_pressure"])
def test_a_permit_without_its_limit_or_pressure_never_passes(missing: str) -> None:
    result = judged(permit({missing: None}))
    assert result.verdict is HELD
    assert check(result, "permit").outcome is Outcome.UNKNOWN


def test_a_permit_cylinder_without_the_number_is_held() -> None:
    assert outcome(permit({"/cylinder/permit": None}), "permit") == (HELD, Outcome.UNKNOWN)


def test_a_permit_named_in_place_of_the_specification_is_found() -> None:
    named = {"/cylinder/specification": "SP99999"}
    assert verdict(permit(named)) is PASSED
    assert verdict(permit({"/cylinder/specification": None})) is PASSED


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"/limit_percent": "12"}, HELD),
        ({"/limit_percent": "10"}, PASSED),
        ({"/limit_percent": "1"}, CONDEMNED),
        ({"/required_test_pressure": psi("4500")}, HELD),
        ({"/required_test_pressure": psi("5000")}, PASSED),
        ({"/required_test_pressure": psi("5100")}, INVALID),
    ],
)
def test_figures_without_a_permit_never_ask_for_less_than_the_rule(
    changes: dict[str, Any], expected: Verdict
) -> None:
    assert verdict(record(changes)) is expected


def test_an_unknown_specification_or_authority_is_held() -> None:
    for changes in (
        {"/cylinder/specification": "5Q"},
        {"/cylinder/specification": None},
        {"/cylinder/authority": None},
        {"/cylinder/authority": "XX"},
        {"/cylinder/service_pressure": None},
    ):
        result = judged(record(changes))
        assert result.verdict is HELD, changes
        assert check(result, "test_pressure").outcome is Outcome.UNKNOWN
    sent = record({"/cylinder/specification": "5Q", "/limit_percent": "10"})
    assert outcome(sent, "permit") == (HELD, Outcome.UNKNOWN)


def test_welded_aluminium_has_its_own_limit() -> None:
    body = {
        "/cylinder/specification": "4E",
        "/cylinder/service_pressure": psi("240"),
        "/cylinder/water_capacity": None,
        "/test_pressure": psi("480"),
        "/total_expansion": cc("60.0"),
        "/elastic_expansion": None,
        "/calibration": None,
        "/visual/standard": "CGA C-6.3",
    }
    assert verdict(record(body | {"/permanent_expansion": cc("7.2")})) is PASSED
    assert verdict(record(body | {"/permanent_expansion": cc("7.3")})) is CONDEMNED


def test_between_two_limits_named_for_canadian_marks_a_person_decides() -> None:
    canadian = {
        "/cylinder/authority": "TC",
        "/cylinder/specification": "3ALM",
        "/cylinder/service_pressure": {"value": "207", "unit": "bar"},
        "/test_pressure": {"value": "345", "unit": "bar"},
        "/elastic_expansion": None,
        "/calibration": None,
    }
    assert verdict(record(canadian)) is PASSED
    assert verdict(record(canadian | {"/permanent_expansion": cc("5.0")})) is HELD
    assert verdict(record(canadian | {"/permanent_expansion": cc("7.1")})) is CONDEMNED
    in_psi = {"/permanent_expansion": cc("5.0"), "/elastic_expansion": None}
    assert verdict(record(in_psi | {"/cylinder/authority": "CTC"})) is HELD
    assert verdict(record(in_psi | {"/cylinder/authority": "DOT"})) is PASSED
    for dual in ("TC/DOT", "DOT / TC", "CTC DOT"):
        assert verdict(record(in_psi | {"/cylinder/authority": dual})) is PASSED
    assert verdict(record(in_psi | {"/cylinder/authority": "TC/XX"})) is HELD


# Pressure


@pytest.mark.parametrize(
    ("pressure", "expected"),
    [
        ("5500", (PASSED, Outcome.OK)),
        ("5501", (PASSED, Outcome.CAUTION)),
        ("7500", (PASSED, Outcome.CAUTION)),
        ("7501", (HELD, Outcome.UNKNOWN)),
    ],
)
def test_far_more_pressure_than_required_is_questioned(
    pressure: str, expected: tuple[Verdict, Outcome]
) -> None:
    body = record(
        {
            "/test_pressure": psi(pressure),
            "/calibration": None,
            "/cylinder/water_capacity": None,
        }
    )
    assert outcome(body, "test_pressure") == expected


def test_psi_written_in_a_bar_field_never_passes() -> None:
    both = {
        "/cylinder/service_pressure": {"value": "3000", "unit": "bar"},
        "/test_pressure": {"value": "5000", "unit": "bar"},
        "/calibration": None,
    }
    assert verdict(record(both)) is INVALID  # no wall of aluminium is so stiff
    assert verdict(record(both | {"/cylinder/water_capacity": None})) is HELD
    only_test = {"/test_pressure": {"value": "5000", "unit": "bar"}, "/calibration": None}
    assert verdict(record(only_test)) is INVALID


def test_a_service_pressure_no_such_specification_has_is_held() -> None:
    low = {"/cylinder/specification": "4BA", "/cylinder/service_pressure": psi("3000")}
    body = record(low | {"/test_pressure": psi("6000"), "/calibration": None})
    assert outcome(body, "test_pressure") == (HELD, Outcome.UNKNOWN)


def test_an_old_3_without_a_stamped_pressure_is_tested_at_3000_psi() -> None:
    body = steel({"/cylinder/specification": "3", "/cylinder/service_pressure": None})
    result = judged(body | {"test_pressure": psi("3000")})
    assert result.verdict is PASSED
    assert str(result.required_test_pressure) == "3000 psi"


# Disposition, stamp, number of the lab


@pytest.mark.parametrize("said", ["rejected", "condemned"])
def test_a_lab_that_finds_against_its_own_numbers_is_held(said: str) -> None:
    body = record({"/disposition": said, "/stamp": None, "/reason": "dented"})
    result = judged(body)
    assert result.verdict is HELD
    assert "dented" in check(result, "disposition").says


def test_a_lab_that_condemns_on_a_test_that_was_not_valid_is_held() -> None:
    assert verdict(record({"/hold_seconds": 20} | CONDEMNED_BY_LAB)) is HELD


def test_the_words_of_a_contradiction_name_both_sides_and_no_reason_where_none_is_given() -> None:
    body = record({"/disposition": "condemned", "/stamp": None})
    assert check(judged(body), "disposition").says == (
        "The lab says condemned; its numbers and inspections come to passed. A person decides."
    )


def test_the_clauses_of_the_records_own_checks() -> None:
    result = judged(record(), known_cylinder=KnownCylinder())
    clauses = {code: str(check(result, code).cites) for code in ("disposition", "stamp")}
    assert clauses == {
        "disposition": "49 CFR 180.205(h), (i) and 180.215(b)(2) (2019-10-01)",
        "stamp": "49 CFR 180.213 (2019-10-01)",
    }
    assert str(check(result, "cylinder").cites) == "49 CFR 180.215(b)(2) (2019-10-01)"


def test_a_lab_that_passes_a_condemned_cylinder_is_told_so() -> None:
    result = judged(record(OVER))
    assert result.verdict is CONDEMNED
    assert check(result, "disposition").outcome is Outcome.FAIL


def test_a_lab_that_passes_on_a_test_that_was_not_valid_is_told_so() -> None:
    body = record({"/hold_seconds": 20})
    assert outcome(body, "disposition") == (INVALID, Outcome.CAUTION)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"/stamp/month": 10}, HELD),
        ({"/stamp/year": 2025}, HELD),
        ({"/stamp": None}, HELD),
        ({"/stamp/symbol": ""}, PASSED),
        ({"/stamp/symbol": "Q"}, HELD),
        ({"/stamp/symbol": "S"}, HELD),
        ({"/stamp/symbol": "UE"}, HELD),
        ({"/stamp/symbol": "VE"}, HELD),
        ({"/stamp/symbol": "star"}, HELD),
        ({"/stamp/symbol": "★"}, HELD),
        ({"/disposition": "rejected", "/visual/internal": "fail"}, REJECTED),
    ],
)
def test_the_stamp_against_the_record(changes: dict[str, Any], expected: Verdict) -> None:
    assert verdict(record(changes)) is expected


def test_a_rejected_cylinder_with_a_stamp_is_noted() -> None:
    body = record({"/disposition": "rejected", "/visual/internal": "fail"})
    assert outcome(body, "stamp") == (REJECTED, Outcome.FAIL)


def test_eddy_current_may_be_stamped_where_it_was_reported() -> None:
    body = record(SUSPECT | examined("pass", "0") | {"/stamp/symbol": "VE"})
    assert verdict(body) is PASSED


def test_a_star_stands_on_a_steel_cylinder_that_nobody_breathes_from() -> None:
    dry = {"/stamp/symbol": "star", "/use": "industrial"}
    assert verdict(steel(dry)) is PASSED
    assert str(judged(steel(dry)).next_due) == "2036-11"
    assert verdict(steel(dry | {"/use": str(Service.SCUBA)})) is HELD
    assert verdict(record(dry)) is HELD


def test_a_proof_test_without_its_symbol_contradicts() -> None:
    assert outcome(proof({"/stamp/symbol": None}), "stamp") == (HELD, Outcome.FAIL)


@pytest.mark.parametrize("rin", ["A12", "A1234", "Z-99", "Z99é"])
def test_a_number_that_no_lab_has_is_held(rin: str) -> None:
    assert outcome(record({"/rin": rin}), "rin") == (HELD, Outcome.FAIL)


# Plus


def test_a_plus_is_for_five_specifications_only() -> None:
    assert outcome(record({"/stamp/symbol": "+"}), "plus") == (HELD, Outcome.FAIL)
    unknown = {"/cylinder/specification": "5Q", "/stamp/symbol": "+"}
    assert outcome(record(unknown), "plus") == (HELD, Outcome.UNKNOWN)


def test_a_plus_stands_by_the_stamped_rejection_value_or_an_estimate() -> None:
    plus = {"/stamp/symbol": "+"}
    assert outcome(steel(plus | {"/ree": cc("66.3")}), "plus") == (PASSED, Outcome.OK)
    assert outcome(steel(plus | {"/ree": cc("55.9")}), "plus") == (HELD, Outcome.FAIL)
    assert outcome(steel(plus), "plus") == (PASSED, Outcome.CAUTION)
    silent = plus | {"/cylinder/water_capacity": None}
    assert outcome(steel(silent), "plus") == (HELD, Outcome.UNKNOWN)


def test_a_plus_on_steel_of_before_1920_has_the_lower_limit() -> None:
    old = {"/cylinder/specification": "3A", "/stamp/symbol": "+"}
    assert outcome(steel(old | {"/cylinder/first_test": "1919-05"}), "plus")[1] is Outcome.FAIL
    new = steel(
        old
        | {
            "/cylinder/first_test": "1920-01",
            "/total_expansion": cc("50.3"),
            "/elastic_expansion": None,
        }
    )
    assert outcome(new, "plus") == (PASSED, Outcome.CAUTION)


def test_a_plus_without_readings_or_requirement_fails() -> None:
    body = steel({"/stamp/symbol": "+", "/total_expansion": cc("0"), "/elastic_expansion": None})
    assert outcome(body, "plus")[1] is Outcome.FAIL


# Combination


def test_the_worst_verdict_stands() -> None:
    assert worst_verdict([]) is PASSED
    for lower, higher in pairwise(ORDER):
        assert worst_verdict([ruling(higher), ruling(lower)]) is higher


def test_merging_keeps_every_sentence_that_is_not_ok() -> None:
    def said(outcome: Outcome, says: str) -> Finding:
        return Finding("plausible", outcome, says, Citation(says))

    findings = [
        said(Outcome.OK, "fine."),
        said(Outcome.CAUTION, "odd."),
        said(Outcome.UNKNOWN, "no capacity."),
    ]
    together = merged(findings)
    assert (together.outcome, together.says) == (Outcome.UNKNOWN, "no capacity. odd.")
    assert str(together.cites) == "no capacity."
    assert merged(findings[:1]) == findings[0]


def test_a_ruling_stands_in_no_way_by_default() -> None:
    finding = Finding("gauge", Outcome.UNKNOWN, "not described.", Citation("x"))
    assert Ruling(finding).leads_to is PASSED
