"""UN and ISO stamps: every token, in whatever order, and what cannot be."""

from decimal import Decimal

import pytest

from cylinders.rules.markings import LifeMark, UnMark
from cylinders.rules.month import Month
from cylinders.rules.quantity import bar, psi
from tests.rules.markings.reading_of import asked, reading_of, unread, warned

STAMP = "25E USA 123456 H\nPH300BAR 14.2KG 5.2MM PW200BAR 12.0L\nUN ISO 9809-1 USA/M9999 AB 2021/06"


def un(text: str) -> UnMark:
    found = reading_of(text).un
    assert found is not None
    return found


def test_a_whole_stamp_is_read() -> None:
    assert un(STAMP) == UnMark(
        standards=("ISO 9809-1",),
        un=True,
        country_approval="USA",
        approval_no="M9999",
        inspector_mark="AB",
        initial_date=Month(2021, 6),
        test_pressure=bar(300),
        working_pressure=bar(200),
        empty_mass_kg=Decimal("14.2"),
        min_wall_mm=Decimal("5.2"),
        water_capacity_l=Decimal("12.0"),
        thread="25E",
        country_of_manufacture="USA",
        serial="123456",
        steel_h=True,
    )
    assert reading_of(STAMP).unread == ()


def test_its_tokens_may_stand_in_any_order_on_one_line() -> None:
    turned = (
        "UN 123456 25E PW200BAR H 12.0L USA/M9999 5.2MM AB 2021/06 14.2KG ISO 9809-1 PH300BAR USA"
    )
    assert un(turned) == un(STAMP)


@pytest.mark.parametrize(
    ("token", "field", "value"),
    [
        ("PH 300 BAR", "test_pressure", bar(300)),
        ("PH30MPA", "test_pressure", bar(300)),
        ("PW3000 PSI", "working_pressure", psi(3000)),
        ("12,5 L", "water_capacity_l", Decimal("12.5")),
        ("V12.2L", "water_capacity_l", Decimal("12.2")),
        ("12 L", "water_capacity_l", Decimal(12)),
        ("FINAL 2041/03", "final_date", Month(2041, 3)),
        ("SERVICE: 2036-03", "service_date", Month(2036, 3)),
        ("UW", "underwater", True),
        ("I/1234", "approval_no", "1234"),
        ("M9999", "manufacturer_mark", "M9999"),
        ("AA 6061", "alloy", "6061"),
        ("M18*1,5", "thread", "M18x1.5"),
    ],
)
def test_each_token_is_read(token: str, field: str, value: object) -> None:
    assert getattr(un(f"UN ISO 9809-1 {token}"), field) == value


def test_several_standards_are_kept_in_order() -> None:
    assert un("ISO 3807-2/ISO 9809-1").standards == ("ISO 3807-2", "ISO 9809-1")
    assert un("EN 1964-1 UN ISO 9809-1:2010").standards == ("EN 1964-1", "ISO 9809-1:2010")


def test_a_pressure_without_its_unit_is_asked_about() -> None:
    reading = reading_of("UN PH300")
    assert asked(reading)["pressure_unit"] == ("300 bar", "300 psi")
    assert un("UN PH300").test_pressure is None


def test_a_pressure_without_its_kind_is_asked_about_and_is_no_serial_number() -> None:
    reading = reading_of("UN ISO 9809-1 300 BAR PW200BAR 77123")
    assert asked(reading)["pressure_kind"] == (
        "test pressure PH300BAR",
        "working pressure PW300BAR",
    )
    assert un("UN ISO 9809-1 300 BAR PW200BAR 77123").serial == "77123"


def test_a_pressure_of_zero_gets_no_value() -> None:
    assert "pressure_impossible" in warned(reading_of("UN PH0BAR"))
    assert un("UN PH0BAR").test_pressure is None


def test_a_comma_before_three_digits_is_asked_about() -> None:
    assert asked(reading_of("UN 1,234L"))["decimal_comma"] == ("1.234", "1234")
    assert un("UN 1,234L").water_capacity_l is None


@pytest.mark.parametrize(
    "text", ["UN 5000.5L", "UN 0.0KG", "UN 0MM", "UN V0L"], ids=["capacity", "mass", "wall", "zero"]
)
def test_a_measure_that_cannot_be_gets_no_value(text: str) -> None:
    assert "measure_impossible" in warned(reading_of(text))
    assert un(text) == UnMark(un=True)


def test_two_numbers_that_can_be_the_serial_number_are_asked_about() -> None:
    reading = reading_of("UN ISO 9809-1 PH300BAR 77123 88123")
    assert asked(reading)["two_serials"] == ("77123", "88123")
    assert reading.un is not None
    assert reading.un.serial is None


def test_a_second_country_and_an_odd_word_stay_unread() -> None:
    assert unread(reading_of("UN D I QQQQQ RCP")) == ["I QQQQQ"]


@pytest.mark.parametrize(
    ("working", "tested", "code"),
    [
        ("PW201BAR", "PH300BAR", "working_over_two_thirds"),
        ("PW301BAR", "PH300BAR", "working_over_test"),
        ("PW2901PSI", "PH300BAR", "working_over_two_thirds"),
        ("PW20.1MPA", "PH300BAR", "working_over_two_thirds"),
        ("PW31MPA", "PH300BAR", "working_over_test"),
        ("PW200BAR", "PH300BAR", None),
        ("PW20MPA", "PH300BAR", None),
    ],
)
def test_the_working_pressure_is_at_most_two_thirds_of_the_test_pressure(
    working: str, tested: str, code: str | None
) -> None:
    found = warned(reading_of(f"UN ISO 9809-1 {tested} {working}"))
    assert found == ({code} if code else set())


def test_a_life_that_has_ended_is_warned_of_and_the_earlier_end_counts() -> None:
    reading = reading_of("UN ISO 11119-2 FINAL 2035/03 SERVICE 2024/03")
    assert reading.life_end == Month(2024, 3)
    assert warned(reading) == {"life_ended"}
    assert reading_of("FINAL 2020/01").marks == (LifeMark("FINAL", Month(2020, 1)),)
    assert warned(reading_of("FINAL 2020/01")) == {"life_ended"}
    assert reading_of("SERVICE 2035/03").life_end == Month(2035, 3)


def test_the_24_years_of_a_3ht_end_its_life() -> None:
    text = "DOT-3HT1850 REE 62.5\n4321\nXY\nAB 3-"
    assert reading_of(f"{text}12").life_end == Month(2036, 3)
    assert "life_ended" in warned(reading_of(f"{text}99"))
    assert "ree_not_read" in warned(reading_of("DOT-3HT1850"))


def test_measures_outside_a_un_stamp_stay_unread() -> None:
    assert unread(reading_of("12.0L 14.2KG V12.2L USA/X9999")) == ["12.0L 14.2KG V12.2L USA/X9999"]


def test_a_short_number_in_a_un_stamp_is_not_taken_for_the_serial_number() -> None:
    reading = reading_of("UN ISO 9809-1 PH300BAR\n3 A1/32 2?")
    assert reading.un is not None
    assert reading.un.serial is None
    assert unread(reading) == ["3 A1/32 2?"]
