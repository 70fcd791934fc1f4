"""Dates without a RIN: their order, their century, what they stand for in which country."""

import pytest

from cylinders.rules.markings import DateMark, MegcMark
from cylinders.rules.markings.dates import NEXT_DUE, NEXT_DUE_OLD, candidates, year_of
from cylinders.rules.month import Month
from tests.rules.markings.reading_of import TODAY, asked, reading_of, unread, warned


def only(text: str, country: str = "US") -> DateMark:
    (mark,) = reading_of(text, country).marks
    assert isinstance(mark, DateMark)
    return mark


@pytest.mark.parametrize(
    ("digits", "floor", "year"),
    [
        ("26", 1970, 2026),
        ("27", 1970, 2027),
        ("36", 1970, 2036),
        ("37", 1970, 1937),
        ("69", 1970, 1969),
        ("70", 1970, 1970),
        ("00", 1970, 2000),
        ("'08", 1970, 2008),
        ("27", 1900, 1927),
        ("1998", 1970, 1998),
        ("2031", 1970, 2031),
    ],
)
def test_the_century_rule(digits: str, floor: int, year: int) -> None:
    assert year_of(digits, on=TODAY, floor=floor) == year


def test_a_date_that_lies_ahead_by_its_nature_takes_the_coming_century() -> None:
    assert year_of("29", on=TODAY, floor=1900, ahead=True) == 2029
    assert year_of("40", on=TODAY, floor=1900, ahead=True) == 1940


@pytest.mark.parametrize(
    ("text", "date", "order"),
    [
        ("13/7", Month(2013, 7), "YY/M"),
        ("24/03 F", Month(2024, 3), "YY/MM"),
        ("5-95", Month(1995, 5), "M-YY"),
        ("11/98", Month(1998, 11), "MM/YY"),
        ("10-10", Month(2010, 10), "MM-YY"),
        ("05/00", Month(2000, 5), "MM/YY"),
        ("00/05", Month(2000, 5), "YY/MM"),
        ("2006/04", Month(2006, 4), "YYYY/MM"),
        ("2006.4", Month(2006, 4), "YYYY.M"),
        ("06-2008", Month(2008, 6), "MM-YYYY"),
        ("2008-07-15", Month(2008, 7), "year-month-day"),
    ],
)
def test_a_date_with_one_reading_is_read(text: str, date: Month, order: str) -> None:
    mark = only(text)
    assert (mark.date, mark.order) == (date, order)


@pytest.mark.parametrize("text", ["00/21", "13/21", "00-00", "2006/13", "13/2008", "99/99/99", "F"])
def test_an_impossible_date_is_left_unread(text: str) -> None:
    reading = reading_of(text)
    assert reading.marks == ()
    assert unread(reading) == [text]
    assert ("impossible_date" in warned(reading)) is (text != "F")


def test_a_decimal_number_is_no_date() -> None:
    assert unread(reading_of("DOT-3AL3000 Z1 M9999 TW 16.6")) == ["TW 16.6"]
    assert reading_of("16.6").marks == ()
    assert asked(reading_of("03.05"))["date_order"]


def test_two_readings_are_asked_with_the_countrys_own_first() -> None:
    us = ("2005-03 (US month-year)", "2003-05 (year-month)")
    assert asked(reading_of("03-05"))["date_order"] == us
    assert asked(reading_of("03-05", "GB"))["date_order"] == us[::-1]
    assert only("03-05") == DateMark(None, "", candidates=us)


def test_a_day_with_several_readings_is_asked() -> None:
    assert asked(reading_of("04/05/06"))["date_order"] == (
        "2006-04-05 (month-day-year)",
        "2006-05-04 (day-month-year)",
        "2004-05-06 (year-month-day)",
    )
    assert only("04/05/2006").candidates == (
        "2006-04-05 (month-day-year)",
        "2006-05-04 (day-month-year)",
    )
    assert only("31/12/1999").order == "day-month-year"


def test_a_century_with_two_readings_is_asked() -> None:
    assert asked(reading_of("5-30"))["century"] == ("1930-05", "2030-05")
    assert only("5-30").date is None


@pytest.mark.parametrize(
    ("text", "country", "role"),
    [
        ("13/7", "DE", NEXT_DUE_OLD),
        ("24/03 F", "DE", NEXT_DUE),
        ("5-95", "DE", NEXT_DUE_OLD),
        ("13/07", "GB", "last test (Great Britain, year first since 2002)"),
        ("13/7", "US", None),
        ("5-95", "GB", None),
        ("13/7", "NZ", None),
        ("\u2020 13/7", "CH", "visual inspection (Switzerland)"),
        ("2006/04", "US", "UN initial inspection"),
        ("2006-04", "US", None),
        ("07C08", "US", "original test"),
        ("AB 5-95", "US", "original test"),
    ],
)
def test_what_a_lone_date_stands_for_follows_from_the_country(
    text: str, country: str, role: str | None
) -> None:
    assert only(text, country).role == role
    assert ("date_role" in asked(reading_of(text, country))) is (role is None)


def test_a_german_date_ahead_is_the_next_due_date_and_no_fault() -> None:
    assert only("29/03 F", "DE").date == Month(2029, 3)
    assert warned(reading_of("29/03 F", "DE")) == set()
    assert "date_ahead" in warned(reading_of("2029/03", "US"))


def test_a_cross_is_swiss_only_in_switzerland() -> None:
    assert unread(reading_of("\u2020 13/7", "US"))[0].startswith("\u2020")
    assert asked(reading_of("\u2020 03/05", "CH"))["date_order"]
    assert reading_of("\u2020 13/21", "CH").marks == ()


@pytest.mark.parametrize(
    ("text", "date", "inspector"),
    [
        ("DOT-3A1800\n1234\nXY\nAB 5-95", Month(1995, 5), "AB"),
        ("DOT-3A1800\n1234\nXY\nAB 5-12", Month(2012, 5), "AB"),
        ("DOT-3A1800\n1234\nXY\nAB 5-1995", Month(1995, 5), "AB"),
        ("DOT-3A1800\n1234\nXY\nAB 1995/05", Month(1995, 5), "AB"),
        ("DOT-3A1800\n1234\nXY\n5-95", Month(1995, 5), None),
        ("DOT-3A1800\n1234\nXY\n5-1995", Month(1995, 5), None),
        ("DOT-3A1800\n1234\nXY\n1995-05", Month(1995, 5), None),
        ("DOT-3AL3000\n1234\nM9999 07C08", Month(2008, 7), "C"),
        ("DOT-3AL3000\n1234\nM9999 07 CB 08", Month(2008, 7), "CB"),
        ("ICC-3A1800\n1234\nXY\nAB 5-30", Month(1930, 5), "AB"),
        ("UN ISO 9809-1\nAB 2021/06", Month(2021, 6), "AB"),
    ],
)
def test_the_first_test_is_read_beside_the_stamp(
    text: str, date: Month, inspector: str | None
) -> None:
    reading = reading_of(text)
    assert reading.first_test == date
    found = reading.original or reading.un
    assert found is not None
    assert found.inspector_mark == inspector


def test_a_lone_first_test_counts_as_one() -> None:
    assert reading_of("07C08").first_test == Month(2008, 7)
    assert reading_of("07C29").first_test == Month(1929, 7)
    assert reading_of("AB 5-2031").first_test is None
    assert reading_of("DOT-3AL3000").first_test is None


def test_an_inspectors_date_of_open_order_is_asked() -> None:
    reading = reading_of("AB 03-05")
    assert unread(reading) == ["AB"]
    assert "date_order" in asked(reading)


def test_a_word_about_dates_is_no_inspector() -> None:
    reading = reading_of("DOT-3A1800\n1234\nXY\nMFG 5-95")
    assert reading.original is not None
    assert reading.original.inspector_mark is None
    assert unread(reading) == ["MFG"]


@pytest.mark.parametrize("text", ["AB 13-95", "AB 5-1", "AB 1233/04", "AB 5-3000"])
def test_an_impossible_date_behind_an_inspector_is_not_a_first_test(text: str) -> None:
    assert reading_of(f"DOT-3A1800\n1234\nXY\n{text}").first_test is None


def test_a_short_date_of_another_countrys_order_beside_a_us_stamp_is_no_first_test() -> None:
    reading = reading_of("DOT-3A1800\n1234\nXY\n13/7")
    assert reading.first_test is None
    assert "date_role" in asked(reading)
    assert asked(reading_of("DOT-3A1800\n1234\nXY\n03/05", "GB"))["date_order"]
    assert "date_role" in asked(reading_of("DOT-3A1800\n1234\nXY\n95/5"))


def test_a_first_test_ahead_or_too_old_is_warned_of() -> None:
    assert "first_test_ahead" in warned(reading_of("DOT-3A1800\n1\nXY\nAB 5-27"))
    assert "first_test_before_authority" in warned(reading_of("DOT-3A1800\n1\nXY\nAB 5-45"))
    assert "unknown_symbol" in warned(reading_of("DOT-3A1800\n1\nXY\nAB 5-95 V"))


def test_a_second_date_is_not_the_first_test() -> None:
    reading = reading_of("DOT-3A1800\n1\nXY\nAB 5-95\n06-05")
    assert reading.first_test == Month(1995, 5)
    assert "date_order" in asked(reading)


def test_a_container_mark_keeps_its_two_letters() -> None:
    reading = reading_of("2004-05 UE/AE")
    assert reading.marks == (MegcMark(Month(2004, 5), "UE/AE"),)
    assert reading.unread == ()


def test_equal_readings_are_one_candidate() -> None:
    assert len(candidates("10", "-", "10", on=TODAY, country="US")) == 1
    assert len(candidates("9", "-", "8", on=TODAY, country="US")) == 0


@pytest.mark.parametrize(
    ("dates", "first"),
    [("06-08\n03-05", "2008-06"), ("06-08 03-05", "2008-06"), ("03-05\n06-08", "2005-03")],
)
def test_two_dates_under_each_other_are_no_square_and_the_second_is_asked_about(
    dates: str, first: str
) -> None:
    reading = reading_of(f"DOT-3AL3000\nZ12345\nM9999 {dates}")
    assert str(reading.first_test) == first
    assert "date_order" in asked(reading)
    assert unread(reading) == []
    assert reading.latest_requalification is None


def test_a_square_of_digits_is_read_where_its_slash_says_so() -> None:
    reading = reading_of("DOT-3AL3000\nZ12345\nM9999 06-08\n9 12/43 16")
    mark = reading.latest_requalification
    assert mark is not None
    assert str(mark.date) == "2016-09"


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ("DOT-3AL3000\nZ12345\n03-05\nM9999 06-08", ("2005-03", "2008-06", "2006-08")),
        ("DOT-3AL3000\nZ12345\n03-05\nAB 6-08", ("2005-03", "2008-06")),
        ("DOT-3AL3000\nZ12345\nM9999 07C08\n5C05", ("2008-07", "2005-05")),
        ("DOT-3AL3000\nZ12345\nM9999 2008/06\n2005/03", ("2008-06", "2005-03")),
    ],
)
def test_two_dates_that_claim_to_be_the_first_test_are_asked_about(
    text: str, choices: tuple[str, ...]
) -> None:
    reading = reading_of(text)
    assert reading.first_test is None
    assert asked(reading)["first_test"] == choices


def test_a_third_date_does_not_settle_which_one_was_the_first_test() -> None:
    reading = reading_of("DOT-3AL3000\nZ12345\nM9999 07C08+\n5C05\n06-2010")
    assert reading.first_test is None
    assert reading.original is not None
    assert reading.original.symbol is None


def test_the_same_first_test_stamped_twice_is_no_contest() -> None:
    reading = reading_of("DOT-3AL3000\nZ12345\nM9999 07C08\n7C08")
    assert reading.first_test == Month(2008, 7)
    assert "first_test" not in asked(reading)


def test_two_initial_dates_of_a_un_stamp_are_asked_about() -> None:
    reading = reading_of("UN ISO 7866 PW200BAR PH300BAR V11.1L Z12345 2008/06 2005/03")
    assert reading.first_test is None
    assert asked(reading)["first_test"] == ("2008-06", "2005-03")


@pytest.mark.parametrize("beside", ["06-2008", "2008-06", "2008/06"])
def test_a_full_date_beside_the_maker_contests_an_earlier_bare_one(beside: str) -> None:
    reading = reading_of(f"DOT-3AL3000\nZ12345\n03-05\nM9999 {beside}")
    assert reading.first_test is None
    assert set(asked(reading)["first_test"]) == {"2005-03", "2008-06"}
