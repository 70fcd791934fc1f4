"""Special permits and exemptions: number, pressure, and never an assumed factor."""

import pytest

from cylinders.rules.quantity import psi
from tests.rules.markings.reading_of import asked, reading_of, warned


@pytest.mark.parametrize(
    ("text", "style"),
    [
        ("DOT-SP99999-3442", "special permit"),
        ("DOT SP 99999 3442", "special permit"),
        ("dot-sp 99999/3442", "special permit"),
        ("DOT-E 99999-3442", "exemption (older)"),
        ("DOT-E99999 3442 PSI", "exemption (older)"),
    ],
)
def test_a_permit_is_read_with_its_number_and_pressure(text: str, style: str) -> None:
    reading = reading_of(text)
    assert reading.original is not None
    mark = reading.original
    assert (mark.permit, mark.permit_style, mark.service_pressure) == ("99999", style, psi(3442))
    assert mark.min_test_pressure is None
    assert mark.is_permit
    assert "permit_sets_figures" in warned(reading)


def test_a_permit_run_together_with_its_pressure_is_asked_about() -> None:
    reading = reading_of("DOT-SP999993442")
    assert reading.original is not None
    assert reading.original.permit is None
    assert asked(reading)["permit_and_pressure"] == ("permit 99999, 3442 psi", "none of these")


def test_a_number_below_a_permit_may_be_the_pressure_or_the_serial_number() -> None:
    reading = reading_of("DOT-SP99999\n3442\nXY")
    assert asked(reading)["pressure_or_serial"] == (
        "service pressure 3442 psi",
        "serial number 3442",
    )
    assert reading.original is not None
    assert (reading.original.service_pressure, reading.original.serial) == (None, None)


def test_a_number_too_high_for_a_pressure_is_the_serial_number() -> None:
    reading = reading_of("DOT-SP99999\n12345")
    assert reading.original is not None
    assert reading.original.serial == "12345"
    assert "pressure_missing" in warned(reading)


@pytest.mark.parametrize("text", ["TC-SU 1234-237", "TC-SH1234-237", "DOT-SP99999-237 BAR"])
def test_a_permit_whose_unit_is_open_is_asked_about(text: str) -> None:
    reading = reading_of(text)
    assert reading.original is not None
    assert reading.original.service_pressure is None
    assert asked(reading)["pressure_unit"] == ("237 bar", "237 psi")


@pytest.mark.parametrize("text", ["E 99999-3500", "SU 1234-237", "DOT-SU1234-237", "TC-SP1234-207"])
def test_a_permit_without_its_authority_is_not_read_as_one(text: str) -> None:
    assert reading_of(text).original is None


def test_sp_where_the_serial_number_may_stand_is_asked_about() -> None:
    reading = reading_of("DOT-3AL3000\nSP12345")
    assert asked(reading)["serial_or_special_permit"] == (
        "serial number SP12345",
        "special permit SP12345",
    )


def test_an_early_permit_is_warned_of() -> None:
    assert "early_permit" in warned(reading_of("SP 99997 3000"))
    assert "early_permit" not in warned(reading_of("DOT-SP99997-3000"))
