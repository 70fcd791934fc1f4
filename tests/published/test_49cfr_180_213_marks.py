"""49 CFR 180.213, 180.217(e), 180.205(i)(2), 2019-10-01 edition: marks after a requalification."""

import datetime as dt

import pytest

from cylinders.rules.markings import MegcMark, RequalificationMark, read
from cylinders.rules.month import Month
from cylinders.rules.symbols import SYMBOLS

DAY = dt.date(2026, 11, 25)


@pytest.mark.parametrize("text", ["9 A1/32 06", "9 A1\n32 06", "A1\n9 06\n32", "9 A123 06"])
def test_180_213_d_the_square_is_read_clockwise_from_the_upper_left(text: str) -> None:
    """The drawing of (d): A1 over 32, September 2006, is RIN A123."""
    assert read(text, on=DAY).marks == (RequalificationMark(Month(2006, 9), "A123"),)


def test_180_213_d_x_is_the_drawings_placeholder() -> None:
    codes = [one.code for one in read("9 A1/32 06 X", on=DAY).warnings]
    assert codes == ["placeholder_symbol"]


@pytest.mark.parametrize(
    ("symbol", "paragraph"),
    [
        ("", "(f)(1)"),
        ("star", "(f)(2)"),
        ("+", "(f)(3)"),
        ("S", "(f)(4)"),
        ("E", "(f)(5)"),
        ("FS", "(f)(7)"),
        ("UE", "(f)(8)"),
        ("AE", "(f)(8)"),
        ("VE", "(f)(9)"),
    ],
)
def test_180_213_f_each_symbol_follows_its_paragraph(symbol: str, paragraph: str) -> None:
    (mark,) = read(f"9 A1/32 06 {symbol}", on=DAY).marks
    assert isinstance(mark, RequalificationMark)
    assert (mark.symbol or "") == symbol
    assert paragraph in SYMBOLS[symbol].cites.source


def test_180_217_e_a_container_carries_year_month_and_two_examinations() -> None:
    assert read("2004-05 AE/UE", on=DAY).marks == (MegcMark(Month(2004, 5), "AE/UE"),)


@pytest.mark.parametrize("text", ["CONDEMNED", "XXXXXXX", "XXXXXXX over DOT-3AL3000"])
def test_180_205_i_2_a_series_of_x_or_the_word_condemns(text: str) -> None:
    assert read(text, on=DAY).condemned


def test_180_212_b_2_rethread_marks_a_repair() -> None:
    assert [mark.kind for mark in read("RETHREAD", on=DAY).marks] == ["repair"]
