"""Marks and texts that Hypothesis makes up for the properties of the reading."""

import datetime as dt
from decimal import Decimal

from hypothesis import strategies as st

from cylinders.rules.markings import OriginalMark, RequalificationMark, UnMark
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity, bar, psi
from tests.rules.markings.reading_of import TODAY

LETTERS = "ACDEFGHJKMNPRTUVW"
DIGITS = "0123456789"


def months(first_year: int, last: dt.date = TODAY) -> st.SearchStrategy[Month]:
    """Months from January of ``first_year`` to the month of ``last``."""
    count = (last.year - first_year) * 12 + last.month
    return st.integers(0, count - 1).map(lambda n: Month(first_year + n // 12, n % 12 + 1))


serials = st.builds(
    lambda head, tail: f"{head}{tail}",
    st.sampled_from(["", "A", "C", "AC", "P"]),
    st.integers(1001, 999_999)
    .map(str)
    .filter(lambda n: n not in {"6351", "6061", "6082", "7032", "5283"}),
)
makers = st.one_of(
    st.none(),
    st.integers(0, 9999).map(lambda n: f"M{n:04d}"),
    st.sampled_from(["XY", "QRW", "NKC"]),
)
psi_marks = st.sampled_from(["3A", "3AA", "3AL", "3AX", "3AAX", "3T", "3HT"])


def _authority_and_pressure() -> st.SearchStrategy[tuple[str, str, Quantity]]:
    us = st.tuples(st.just("DOT"), psi_marks, st.integers(1800, 9999).map(psi))
    metric = st.tuples(
        st.just("TC"), st.sampled_from(["3AAM", "3ALM"]), st.integers(100, 700).map(bar)
    )
    return st.one_of(us, metric)


@st.composite
def original_marks(draw: st.DrawFn) -> OriginalMark:
    authority, spec, pressure = draw(_authority_and_pressure())
    dated = draw(st.booleans())
    return OriginalMark(
        authority,
        spec,
        pressure,
        serial=draw(serials),
        manufacturer_mark=draw(makers),
        inspector_mark=draw(st.sampled_from([None, "AB", "K"])) if dated else None,
        test_date=draw(months(1994)) if dated else None,
        symbol=draw(st.sampled_from([None, "+"])) if dated else None,
        ree_cc=draw(st.none() | st.integers(1, 9999).map(lambda n: Decimal(n).scaleb(-1))),
    )


rins = st.builds(lambda a, n: f"{a}{n:03d}", st.sampled_from(LETTERS), st.integers(0, 999))
requalification_marks = st.builds(
    RequalificationMark,
    months(1970),
    rins,
    st.sampled_from([None, "star", "+", "S", "E", "FS", "UE", "AE", "VE"]),
)


@st.composite
def un_marks(draw: st.DrawFn) -> UnMark:
    tested = draw(st.integers(150, 450))
    return UnMark(
        standards=(draw(st.sampled_from(["ISO 9809-1", "ISO 7866", "ISO 11119-2"])),),
        un=True,
        country_approval="USA",
        approval_no="M9999",
        inspector_mark="AB",
        initial_date=draw(months(2000)),
        test_pressure=bar(tested),
        working_pressure=bar(draw(st.integers(50, tested * 2 // 3))),
        empty_mass_kg=draw(st.integers(10, 400)) * Decimal("0.1"),
        min_wall_mm=draw(st.integers(10, 99)) * Decimal("0.1"),
        water_capacity_l=draw(st.integers(5, 290)) * Decimal("0.1"),
        thread=draw(st.sampled_from([None, "25E", "17E", "M25x2", "M18x1.5"])),
        country_of_manufacture=draw(st.sampled_from([None, "USA", "D", "I"])),
        serial=draw(serials),
        steel_h=draw(st.booleans()),
        underwater=draw(st.booleans()),
        final_date=draw(st.none() | st.just(Month(2041, 3))),
    )


#: pieces of stamps, junk, and the characters that cause trouble, in any order
pieces = st.sampled_from(
    [
        "DOT-3AL3000",
        "TC-3ALM207",
        "CTC/DOT",
        "3AL 3000",
        "DOT-39 NRC 250/500",
        "DOT-SP99999-3442",
        "5 A1/32 21",
        "A1\n5 21\n32",
        "5 A123 21",
        "★",
        "STAR",
        "+",
        "07C08",
        "AB 5-95",
        "03-05",
        "13/7",
        "24/03 F",
        "04/05/06",
        "2006/04",
        "2004-05 AE/UE",
        "UN",
        "ISO 9809-1",
        "PH300BAR",
        "PW200BAR",
        "12.0L",
        "14.2KG",
        "5.2MM",
        "25E",
        "M25x2",
        '3/4"',
        "3/4 NPSM",
        "USA/M9999",
        "FINAL 2035/03",
        "SERVICE 2035/03",
        "REE 62.5",
        "XXXX",
        "CONDEMNED",
        "RETHREAD",
        "M9999",
        "6351-T6",
        "S/N 123",
        "UNKNOWN",
        "N/A",
        "Z12345",
        "XY",
        "-",
        "/",
        "?",
        "_",
        "\x00",
        "\r\n",
        "\u202e",
        "\u200b",
        "\u0336",
        "\u0663",
        "\u00bd",
        "\u0410",
        "\u2020",
        "\ufeff",
        "é",
        "\t",
        "'",
        '"',
        "<",
        "(",
        "[",
        ".",
        ",",
        ";",
        ":",
        "0",
        "1",
        "O",
        "I",
        "X",
        "99999999999",
        "D0T",
    ]
)
stamps = st.lists(pieces | st.text(max_size=6), max_size=25).flatmap(
    lambda parts: st.sampled_from([" ", "\n", "", "/", "-"]).map(lambda by: by.join(parts))
)
texts = stamps | st.text(max_size=200)
