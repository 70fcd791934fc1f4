"""Figures, dates, threads and alloys that are wrong, doubtful or in the wrong unit.

The numbers are those of the list of 42 kinds of input that the reading was designed against; the
other kinds, which concern the text itself, are in the neighbouring file.
"""

from collections.abc import Callable

import pytest

from cylinders.rules.markings import OriginalMark, Reading, RequalificationMark, UnMark
from cylinders.rules.quantity import bar, psi
from tests.rules.markings.reading_of import asked, reading_of, unread, warned

_UN = "UN ISO 9809-1 PH300BAR PW200BAR "
_FIRST = "DOT-3A1800 1 XY AB "


def _un(reading: Reading) -> UnMark:
    assert reading.un is not None
    return reading.un


def _litres(reading: Reading) -> str | None:
    value = _un(reading).water_capacity_l
    return str(value) if value is not None else None


def _latest(reading: Reading) -> RequalificationMark:
    assert reading.latest_requalification is not None
    return reading.latest_requalification


def _original(reading: Reading) -> OriginalMark:
    assert reading.original is not None
    return reading.original


def _no_serial(reading: Reading) -> bool:
    return _original(reading).serial is None


def _no_pressure(reading: Reading) -> bool:
    return _original(reading).service_pressure is None


ROWS: list[tuple[str, str, Callable[[Reading], bool]]] = [
    ("21 all zeros", "DOT-3AL3000\n00000", lambda r: "serial_zero" in warned(r) and _no_serial(r)),
    (
        "21 UNKNOWN",
        "DOT-3AL3000\nUNKNOWN",
        lambda r: "serial_not_legible" in warned(r) and _no_serial(r),
    ),
    ("21 N/A", "DOT-3AL3000 N/A", lambda r: "serial_not_legible" in warned(r) and _no_serial(r)),
    ("21 ILLEGIBLE", "DOT-3AL3000 illegible", lambda r: "serial_not_legible" in warned(r)),
    ("22 one character", "DOT-3AL3000\n7", lambda r: "serial_length" in warned(r)),
    (
        "22 forty characters",
        f"DOT-3AL3000\n{'A1' * 20}",
        lambda r: "serial_length" in warned(r) and _original(r).serial == "A1" * 20,
    ),
    (
        "22 forty-one characters",
        f"DOT-3AL3000\n{'A1' * 20}B",
        lambda r: _no_serial(r) and len(r.unread) == 1,
    ),
    (
        "23 two serials",
        "DOT-3AL3000\nZ123\nZ456",
        lambda r: asked(r)["two_serials"] == ("Z123", "Z456") and _no_serial(r),
    ),
    ("24 month 00", "00/21", lambda r: "impossible_date" in warned(r) and not r.marks),
    ("24 month 13", "13/21", lambda r: "impossible_date" in warned(r) and unread(r) == ["13/21"]),
    ("24 30 February", "02/30", lambda r: asked(r)["century"] == ("1930-02", "2030-02")),
    ("25 year 68", "DOT-3A1800 1 XY AB 5-68", lambda r: str(r.first_test) == "1968-05"),
    ("25 year 69", "DOT-3A1800 1 XY AB 5-69", lambda r: str(r.first_test) == "1969-05"),
    ("25 year 99", "DOT-3A1800 1 XY AB 5-99", lambda r: str(r.first_test) == "1999-05"),
    ("26 three numbers", "04/05/06", lambda r: len(asked(r)["date_order"]) == 3),
    (
        "27 first test ahead",
        "DOT-3A1800 1 XY AB 5-27",
        lambda r: "first_test_ahead" in warned(r) and r.first_test is None,
    ),
    (
        "28 test before first test",
        "DOT-3A1800 1 XY AB 5-95\n5 A1/32 91",
        lambda r: "requalified_before_first_test" in warned(r),
    ),
    ("29 mark with a hole", "A?B 4", lambda r: not r.marks and unread(r) == ["A?B 4"]),
    (
        "29 RIN with a hole",
        "5 A?/B4 21",
        lambda r: "rin_illegible" in warned(r) and _latest(r).rin is None,
    ),
    ("30 number without a unit", "3000", lambda r: not r.marks and unread(r) == ["3000"]),
    (
        "30 207 on a psi mark",
        "DOT-3AL207",
        lambda r: asked(r)["pressure_unit"] == ("207 psi", "207 bar"),
    ),
    ("30 20.7", "TC-3ALM20.7", lambda r: "pressure_decimal" in warned(r) and _no_pressure(r)),
    (
        "30 3000 bar",
        "DOT-3AL3000 BAR",
        lambda r: asked(r)["pressure_unit"] == ("3000 psi", "3000 bar") and _no_pressure(r),
    ),
    (
        "31 working over test",
        "UN ISO 9809-1 PH200BAR PW300BAR",
        lambda r: "working_over_test" in warned(r),
    ),
    (
        "31 working over two thirds",
        "UN ISO 9809-1 PH300BAR PW201BAR",
        lambda r: "working_over_two_thirds" in warned(r),
    ),
    (
        "32 capacity 0",
        f"{_UN}0L",
        lambda r: "measure_impossible" in warned(r) and _litres(r) is None,
    ),
    ("32 capacity -1", f"{_UN}-1L", lambda r: unread(r) == ["-1L"] and _litres(r) is None),
    ("32 capacity 1e9", f"{_UN}1e9L", lambda r: _litres(r) is None),
    (
        "32 decimal lost",
        f"{_UN}122L",
        lambda r: asked(r)["decimal_lost"] == ("122 L", "12.2 L") and _litres(r) is None,
    ),
    (
        "33 tare 0",
        f"{_UN}0KG",
        lambda r: "measure_impossible" in warned(r) and _un(r).empty_mass_kg is None,
    ),
    (
        "33 tare in pounds",
        f"{_UN}31LB",
        lambda r: "mass_in_pounds" in warned(r) and _un(r).empty_mass_kg is None,
    ),
    ("34 thread with times sign", f"{_UN}M25\u00d72", lambda r: _un(r).thread == "M25x2"),
    ("34 thread with x", f"{_UN}M25x2", lambda r: _un(r).thread == "M25x2"),
    ("34 thread with star", f"{_UN}M25*2", lambda r: _un(r).thread == "M25x2"),
    ("35 straight inch mark", '3/4"', lambda r: "M25x2" in asked(r)["thread"]),
    ("35 curly inch mark", "3/4\u201d", lambda r: "M25x2" in asked(r)["thread"]),
    ("35 double prime", "3/4\u2033", lambda r: "M25x2" in asked(r)["thread"]),
    (
        "36 look-alike threads",
        "DOT-3AL3000 Z1\n3/4 NPSM\nM25x2",
        lambda r: asked(r)["two_threads"] == ("3/4 NPSM", "M25x2"),
    ),
    (
        "36 and no thread is kept",
        "DOT-3AL3000 Z1\n3/4 NPSM\n3/4 NGS",
        lambda r: _original(r).thread is None,
    ),
    ("37 alloy that needs more", "DOT-3AL3000 Z1\n6351-T6", lambda r: "alloy_6351" in warned(r)),
    (
        "37 alloy barred from UN",
        "UN ISO 7866 PH300BAR 6351-T6",
        lambda r: "alloy_barred" in warned(r),
    ),
    (
        "38 two specifications",
        "TC-3ALM207 DOT-3AL3000",
        lambda r: r.dual is not None and r.dual.consistent is True,
    ),
    ("39 plus after the date", "5 A1/32 21+", lambda r: _latest(r).symbol == "+"),
    ("39 star after the date", "5 A1/32 21 \u2605", lambda r: _latest(r).symbol == "star"),
]


@pytest.mark.parametrize(("name", "text", "holds"), ROWS, ids=[row[0] for row in ROWS])
def test_a_bad_figure_is_answered_as_it_must_be(
    name: str, text: str, holds: Callable[[Reading], bool]
) -> None:
    assert holds(reading_of(text)), name


def test_every_kind_of_bad_figure_has_a_row() -> None:
    assert {int(name.split()[0]) for name, _, _ in ROWS} == set(range(21, 40))


def test_units_that_are_said_are_kept() -> None:
    assert _original(reading_of("DOT-3AL3000 PSI")).service_pressure == psi(3000)
    assert _original(reading_of("TC-3ALM 207 bar")).service_pressure == bar(207)
