"""Specification marks: every row of the table, every spelling, and figures that cannot be."""

import pytest

from cylinders.rules.markings import OriginalMark
from cylinders.rules.quantity import bar, psi
from cylinders.rules.specifications import SPECIFICATIONS, PressureRule
from tests.rules.markings.reading_of import asked, reading_of, unread, warned

US_CODES = [c for c, row in SPECIFICATIONS.items() if c[0].isdigit() and not row.us_equivalent]
METRIC_CODES = [code for code, row in SPECIFICATIONS.items() if row.us_equivalent]
AUTHORITIES = ["DOT", "ICC", "CTC", "CRC", "BTC"]


def original(text: str) -> OriginalMark:
    found = reading_of(text).original
    assert found is not None
    return found


def _figure(code: str) -> int:
    row = SPECIFICATIONS[code]
    return int(row.service_fixed or row.service_min or 1800)


@pytest.mark.parametrize("authority", AUTHORITIES)
@pytest.mark.parametrize("code", [code for code in US_CODES if code != "39"])
def test_every_us_specification_is_read_under_every_us_authority(code: str, authority: str) -> None:
    named = code in {"4AA480", "4B240ET", "3A480X"}
    figure = "" if named else str(_figure(code))
    for joined in ("-", " ", ""):
        mark = original(f"{authority}{joined}{code}{figure}")
        assert (mark.authority, mark.spec) == (authority, code)
        assert mark.service_pressure == psi(_figure(code))


@pytest.mark.parametrize("code", METRIC_CODES)
def test_every_metric_specification_is_read_in_bar(code: str) -> None:
    mark = original(f"TC-{code}150")
    assert (mark.authority, mark.spec, mark.service_pressure) == ("TC", code, bar(150))
    assert "factor_from_memory" in warned(reading_of(f"TC-{code}150"))


@pytest.mark.parametrize(
    "text",
    [
        "D.O.T. 3AL 3000",
        "DOT/3AL/3000",
        "DOT\n3AL\n3000",
        "DOT - 3AL - 3000",
        "dot3al3000",
        "DOT 3AL3000 PSIG",
    ],
)
def test_a_mark_is_the_same_however_its_parts_are_joined(text: str) -> None:
    mark = original(text)
    assert (mark.authority, mark.spec, mark.service_pressure) == ("DOT", "3AL", psi(3000))


@pytest.mark.parametrize("code", ["3", "3E", "8", "8AL", "4AA480", "4B240ET", "3A480X"])
def test_a_number_below_a_mark_without_a_figure_is_the_serial_number(code: str) -> None:
    mark = original(f"DOT-{code}\n1234")
    assert (mark.spec, mark.serial) == (code, "1234")


@pytest.mark.parametrize(("code", "treated"), [("3", 1800), ("3E", 1800), ("8", 250), ("8AL", 250)])
def test_a_mark_that_needs_no_figure_says_how_it_is_treated(code: str, treated: int) -> None:
    reading = reading_of(f"DOT-{code}")
    assert reading.original is not None
    assert reading.original.service_pressure is None
    says = {one.code: one.says for one in reading.warnings}
    assert f"{treated} psi" in says["pressure_not_marked"]


def test_a_figure_in_the_name_of_a_specification_is_its_pressure() -> None:
    assert original("DOT-4B-240ET").service_pressure == psi(240)
    assert original("DOT-4AA480").min_test_pressure == psi(960)
    assert original("DOT-3A480X").min_test_pressure is None


def test_a_mark_whose_figure_is_missing_has_no_test_pressure() -> None:
    reading = reading_of("DOT-3AL")
    assert reading.original is not None
    assert reading.original.min_test_pressure is None
    assert warned(reading) == {"pressure_missing"}


def test_a_specification_that_is_not_in_the_table_is_not_made_to_fit() -> None:
    reading = reading_of("DOT-5P1800")
    assert reading.marks == ()
    assert unread(reading) == ["DOT-5P1800"]
    assert warned(reading) == {"specification_not_read"}
    assert reading_of("TC-39M200").original is None


def test_a_figure_below_a_mark_that_may_be_the_serial_number_is_asked_about() -> None:
    reading = reading_of("DOT-3AL\n4521")
    assert reading.original is not None
    assert (reading.original.service_pressure, reading.original.serial) == (None, None)
    assert asked(reading)["pressure_or_serial"] == (
        "service pressure 4521 psi",
        "serial number 4521",
    )
    assert original("DOT-3AA\n2015\nZ1").service_pressure == psi(2015)
    assert original("DOT-3AL\n3000").service_pressure == psi(3000)


def test_thousands_marks_are_asked_about() -> None:
    for text in ("DOT-3AL3,000", "DOT-3AL3.000"):
        assert original(text).service_pressure is None
        assert asked(reading_of(text))["pressure_figure"][0] == "3000"


def test_a_canadian_mark_without_its_m_is_asked_about_unless_it_can_only_be_psi() -> None:
    doubtful = reading_of("TC-3AL207")
    assert doubtful.original is not None
    assert doubtful.original.service_pressure is None
    assert asked(doubtful)["metric_letter_missing"] == (
        "TC-3ALM207 (207 bar)",
        "TC-3AL207 (207 psi)",
    )
    plain = reading_of("TC-3AL3000")
    assert plain.original is not None
    assert plain.original.service_pressure == psi(3000)
    assert warned(plain) == {"metric_letter_missing"}


def test_a_metric_letter_on_a_us_mark_is_asked_about() -> None:
    assert original("DOT-3ALM207").service_pressure is None
    assert asked(reading_of("DOT-3ALM"))["metric_on_us_mark"] == ("TC-3ALM", "DOT-3AL")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("TC-3AAM2265", "metric_figure_too_high"),
        ("DOT-3AA30000", "pressure_impossible"),
        ("DOT-3AA00", "pressure_impossible"),
        ("TC-3ALM000", "pressure_impossible"),
        ("DOT-3AL20.7", "pressure_decimal"),
    ],
)
def test_a_figure_that_no_cylinder_has_gets_no_value(text: str, code: str) -> None:
    assert original(text).service_pressure is None
    assert code in warned(reading_of(text))


@pytest.mark.parametrize(
    ("text", "allowed"),
    [
        ("DOT-3AL100", "150 or more psi"),
        ("DOT-4B600", "150 to 500 psi"),
        ("DOT-3E1900", "1800 psi only"),
        ("DOT-3T1500", "1800 or more psi"),
    ],
)
def test_a_figure_outside_the_specification_is_kept_and_warned_of(text: str, allowed: str) -> None:
    reading = reading_of(text)
    says = {one.code: one.says for one in reading.warnings}
    assert allowed in says["pressure_outside_specification"]
    assert original(text).service_pressure is not None


def test_a_one_behind_3a_may_be_an_l() -> None:
    assert asked(reading_of("DOT-3A13000"))["look_alike"] == ("DOT-3AL3000", "DOT-3A13000")


def test_a_mark_without_an_authority_is_asked_about() -> None:
    assert asked(reading_of("3ALM207"))["no_authority"] == ("TC-3ALM207", "nothing")
    assert asked(reading_of("4B-240ET 240"))["no_authority"][0] == "DOT-4B240ET240"
    assert original("3AA2250+").plus_after_pressure
    assert reading_of("3EM1800").marks == ()


def test_a_specification_where_the_serial_number_may_stand_is_asked_about() -> None:
    reading = reading_of("DOT-3AL3000\n3AA2250")
    assert asked(reading)["serial_or_specification"] == (
        "serial number 3AA2250",
        "specification 3AA2250",
    )
    assert len(reading.marks) == 1
    assert original("DOT-3AL3000\n3AA2250").serial is None


def test_a_plus_behind_the_pressure_gives_nothing() -> None:
    reading = reading_of("DOT-3AA2250+\n1001\nXY\nAB 5-95")
    assert "plus_after_pressure" in warned(reading)
    assert not reading.plus_stands


def test_single_trip_cylinders_are_never_filled_again() -> None:
    reading = reading_of("DOT-39 NRC 500/250 M1001\n5 A1/32 21")
    assert reading.original is not None
    assert reading.original.refillable is False
    assert warned(reading) >= {"single_trip", "working_over_test", "single_trip_requalified"}
    assert original("DOT-39").test_pressure is None
    assert original("DOT-39").row.test is PressureRule.NEVER


def test_nrc_beside_any_mark_means_not_refillable() -> None:
    assert original("DOT-3AL3000 Z1 NRC").refillable is False
    assert reading_of("NRC").marks == ()


def test_how_the_end_was_closed_is_no_maker() -> None:
    reading = reading_of("DOT-3AA2250 Z1 SPUN")
    assert reading.original is not None
    assert reading.original.manufacturer_mark is None
    assert reading.unread == ()


def test_a_mark_outside_the_table_cannot_be_asked_for_its_row() -> None:
    with pytest.raises(LookupError, match="no specification '5P'"):
        _ = OriginalMark("DOT", "5P").row
