"""Requalification marks: the RIN in every layout, the star in every spelling, odd RINs."""

import pytest

from cylinders.rules.markings import RequalificationMark
from cylinders.rules.month import Month
from tests.rules.markings.reading_of import asked, reading_of, unread, warned

MAY_2021 = Month(2021, 5)


def only(text: str) -> RequalificationMark:
    (mark,) = reading_of(text).marks
    assert isinstance(mark, RequalificationMark)
    return mark


@pytest.mark.parametrize(
    "text",
    [
        "5 A1/32 21",
        "05 A1/32 21",
        "5A1/32 21",
        "5A1/3221",
        "5 A1/3221",
        "5 A1/32/21",
        "5 A1 32 21",
        "5 A1\n32 21",
        "5 A1 / 32 21",
        "5 A1 21\n  32",
        "  A1\n5    21\n  32",
        "5 A123 21",
        "05-A123-21",
        "5/A123/21",
        "5.A123.21",
        "5 [A123] 21",
        "5 \u25a1A123 21",
        "5A12321",
        "5 A1/32 2021",
        "5 A1/32 '21",
        "5 a1/32 21",
        "5\tA1/32\t21",
    ],
)
def test_the_rin_is_read_in_every_layout(text: str) -> None:
    assert only(text) == RequalificationMark(MAY_2021, "A123")


@pytest.mark.parametrize(
    "star",
    [
        "\u2605",
        "\u2606",
        "*",
        "**",
        "STAR",
        "star",
        "<star>",
        "(STAR)",
        "*star*",
        "\u2b50\ufe0f",
        "\u272a",
    ],
)
def test_a_star_is_a_star_in_every_spelling(star: str) -> None:
    assert only(f"11 B4/65 19 {star}") == RequalificationMark(Month(2019, 11), "B456", "star")


@pytest.mark.parametrize("symbol", ["+", "S", "E", "FS", "UE", "AE", "VE"])
def test_every_symbol_is_read_behind_the_year_and_behind_a_blank(symbol: str) -> None:
    assert only(f"5 A1/32 21 {symbol}").symbol == symbol
    assert only(f"5 A1/32 21{symbol}").symbol == symbol


def test_two_symbols_are_both_kept() -> None:
    mark = only("5 A1/32 21 \u2605+")
    assert (mark.symbol, mark.star, mark.plus) == ("star/+", True, True)
    assert only("5 A1/32 21 UE AE").symbol == "UE/AE"


@pytest.mark.parametrize(
    ("symbol", "code"),
    [("X", "placeholder_symbol"), ("V", "unknown_symbol"), ("R", "unknown_symbol")],
)
def test_symbols_that_mean_nothing_are_warned_of(symbol: str, code: str) -> None:
    assert code in warned(reading_of(f"5 A1/32 21 {symbol}"))


def test_a_swapped_month_and_year_is_asked_about() -> None:
    reading = reading_of("21 A123 05")
    assert asked(reading)["date_order"] == ("2021-05", "neither")
    assert unread(reading) == ["21 A123 05"]
    assert asked(reading_of("13 A1/32 21")) == {}
    assert asked(reading_of("0 A1/32 21")) == {}
    assert "impossible_date" in warned(reading_of("0 A1/32 21"))


def test_an_illegible_rin_is_not_made_up() -> None:
    mark = only("5 A?/B4 21")
    assert (mark.rin, mark.rows) == (None, None)
    assert only("5 A_23 21").rin is None


def test_an_unusual_rin_is_kept_and_warned_of() -> None:
    assert "rin_unusual" in warned(reading_of("5 AB12 21"))
    assert only("5 AB12 21").rin == "AB12"
    assert only("5 12/34 21").rin == "1243"


def test_a_letter_in_the_digits_of_a_rin_is_asked_about() -> None:
    reading = reading_of("5 AO/32 21")
    assert asked(reading)["look_alike"] == ("A023", "AO23")
    assert reading.latest_requalification is not None
    assert reading.latest_requalification.rin == "AO23"


def test_four_numbers_in_a_row_are_no_mark() -> None:
    assert reading_of("5 12 34 21").marks == ()


def test_a_run_together_mark_where_the_serial_number_may_stand_is_asked_about() -> None:
    reading = reading_of("DOT-3AL3000\n5A12321")
    assert asked(reading)["serial_or_requalification_mark"] == (
        "serial number 5A12321",
        "requalification mark 5A12321",
    )
    assert reading.latest_requalification is None


def test_a_rin_older_than_rins_is_warned_of() -> None:
    assert "date_implausible" in warned(reading_of("5 A1/32 45"))


def test_the_latest_mark_counts_and_one_ahead_never_does() -> None:
    reading = reading_of("5 A1/32 16+\n12 B4/65 26\n6 C7/98 11")
    assert reading.latest_requalification == RequalificationMark(Month(2016, 5), "A123", "+")
    assert [m.future for m in reading.marks if isinstance(m, RequalificationMark)] == [
        False,
        True,
        False,
    ]


def test_of_two_marks_of_one_month_the_one_stamped_last_counts() -> None:
    reading = reading_of("5 A1/32 21+\n5 B4/65 21")
    assert reading.latest_requalification == RequalificationMark(MAY_2021, "B456")
