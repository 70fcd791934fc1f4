"""What a lab reports beside its records, read, judged and leaned on, each by itself."""

from typing import Any

import pytest

from cylinders.rules.judgement import parse
from cylinders.rules.judgement.problem import UnusableBody
from cylinders.rules.lab_reports.bodies import (
    CalibrationBody,
    Came,
    DryingBody,
    InspectionBody,
    ReportKind,
)
from cylinders.rules.lab_reports.judging import Known, judge
from cylinders.rules.lab_reports.leaning import Check, Seen, Shelf, on_file
from cylinders.rules.lab_reports.reading import read
from tests import makers
from tests.rules.cast import aluminium

KNOWN = Known(aluminium(), "KX40417", "M9999")


def cc(value: str) -> dict[str, str]:
    return {"value": value, "unit": "cc"}


def check(**changes: Any) -> CalibrationBody:
    made = read(ReportKind.CALIBRATION, makers.check_body(**changes))
    assert isinstance(made, CalibrationBody)
    return made


def look(gate: str = "inside", **changes: Any) -> InspectionBody:
    made = read(ReportKind.INSPECTION, makers.inspection_body(gate, **changes))
    assert isinstance(made, InspectionBody)
    return made


def places(kind: ReportKind, value: object) -> list[tuple[str, str]]:
    with pytest.raises(UnusableBody) as refused:
        read(kind, value)
    return [(one.pointer, one.code) for one in refused.value.problems]


def test_null_is_no_report() -> None:
    assert places(ReportKind.DRYING, None) == [("", "wrong_type")]


def test_a_check_without_its_time_is_refused_once() -> None:
    sent = makers.check_body()
    del sent["time"]
    assert places(ReportKind.CALIBRATION, sent) == [("/time", "missing")]


def test_a_crack_of_less_than_nothing_is_refused() -> None:
    sent = makers.inspection_body("eddy_current", crack_thread_lengths="-1")
    assert places(ReportKind.INSPECTION, sent) == [("/crack_thread_lengths", "out_of_range")]


def test_an_inspection_is_judged_of_a_cylinder_only() -> None:
    with pytest.raises(ValueError, match="of a cylinder"):
        judge(look())


def test_an_expansion_beyond_the_device_fails_the_check() -> None:
    # common practice: beyond the end of its scale a device shows nothing
    device = makers.check_body()["expansion_device"] | {"range": cc("60")}
    judged = judge(check(expansion_device=device))
    assert judged.came is Came.FAILED
    assert "63.3 cc lies beyond the device, which reads to 60 cc." in judged.reasons


def test_a_look_by_another_standard_passes_with_a_caution() -> None:
    judged = judge(look(standard="CGA C-6"), KNOWN)
    assert judged.came is Came.PASSED
    [says] = [one.says for one in judged.checks if one.outcome.value == "caution"]
    assert says == "Passed by CGA C-6, but CGA C-6.1 is the standard for this cylinder."


def test_a_record_with_its_own_check_leans_on_no_other_and_keeps_the_name() -> None:
    body = parse(makers.record_body(daily_check="CAL-1120-1"))
    found = on_file(body, Shelf((Check(7, check(), Came.PASSED),)))
    assert (found.check, found.calibration, found.no_check) == (7, None, "")


def test_a_check_that_is_named_must_be_of_the_apparatus_of_the_test() -> None:
    sent = makers.record_body(calibration=None, daily_check="CAL-1120-1", apparatus="chamber 2")
    found = on_file(parse(sent), Shelf((Check(7, check(), Came.PASSED),)))
    assert (found.check, found.no_check) == (
        None,
        "The check CAL-1120-1 is of chamber 1, the test of chamber 2.",
    )


def test_a_look_after_the_test_is_nothing_against_a_record_that_tells_its_own() -> None:
    late = Seen(3, look(date="2026-11-21"), Came.PASSED)
    found = on_file(parse(makers.record_body()), Shelf(seen=(late,)))
    assert (found.inside, found.against) == (False, ())


def test_a_drying_in_doubt_holds_a_record_that_tells_of_none() -> None:
    sent = makers.record_body(drying=None)
    drying = read(ReportKind.DRYING, makers.drying_body(celsius=None))
    assert isinstance(drying, DryingBody)
    doubt = Seen(4, drying, Came.UNKNOWN, ("How hot it was is not told.",))
    found = on_file(parse(sent), Shelf(seen=(doubt,)))
    assert found.against == ("How hot it was is not told.",)
    assert found.drying is not None
    assert found.drying.temperature is None
