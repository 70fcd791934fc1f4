"""Text that is no clean stamp: sizes, scripts, look-alikes, odd blanks, code, pictures' text.

The numbers are those of the list of 42 kinds of input that the reading was designed against; the
kinds 21 to 39, which concern figures and dates, are in the neighbouring file.
"""

from collections.abc import Callable

import pytest

from cylinders.rules.markings import Reading, UnMark
from tests.rules.markings.reading_of import asked, reading_of, unread, warned

_UN = "UN ISO 9809-1 PH300BAR PW200BAR "
_AL = ("DOT", "3AL", "3000 psi")
_ALM = ("TC", "3ALM", "207 bar")
_WIDE = "\uff24\uff2f\uff34\uff0d\uff13\uff21\uff2c\uff13\uff10\uff10\uff10"


def _spec(reading: Reading) -> tuple[str | None, str, str] | None:
    found = reading.original
    return (found.authority, found.spec, str(found.service_pressure)) if found else None


def _un(reading: Reading) -> UnMark:
    assert reading.un is not None
    return reading.un


def _litres(reading: Reading) -> str | None:
    value = _un(reading).water_capacity_l
    return str(value) if value is not None else None


def _serial(reading: Reading) -> str | None:
    return reading.original.serial if reading.original else None


ROWS: list[tuple[str, str, Callable[[Reading], bool]]] = [
    ("1 empty", "", lambda r: (r.marks, r.unread, r.questions) == ((), (), ())),
    ("2 only spaces", "   \n  ", lambda r: (r.marks, r.unread) == ((), ())),
    ("3 only punctuation", "-- //", lambda r: unread(r) == ["-- //"]),
    ("4 10,000 characters", "Q" * 10_000, lambda r: unread(r) == ["Q" * 10_000]),
    ("5 1 MB", "Q7 " * 350_000, lambda r: len(r.unread) == 1 and not r.marks),
    ("6 NUL inside", "DOT-3AL\x003000", lambda r: unread(r) == ["DOT-3AL\x003000"]),
    ("7 CR LF inside", "DOT-3AL3000\r\nZ123\r\nM9999", lambda r: _spec(r) == _AL),
    ("8 tab-separated", "DOT-3AL\t3000\tZ123", lambda r: _spec(r) == _AL),
    ("9 no-break space", "DOT\u00a03AL\u00a03000", lambda r: _spec(r) == _AL),
    ("9 zero-width space", "DOT-3AL30\u200b00", lambda r: _spec(r) == _AL),
    ("9 zero-width is said", "DOT-3AL30\u200b00", lambda r: "invisible_characters" in warned(r)),
    (
        "10 right-to-left override",
        "DOT-3AL\u202e3000",
        lambda r: "direction_characters" in warned(r),
    ),
    ("10 its figure is not taken", "DOT-3AL\u202e3000", lambda r: r.original is None),
    ("11 Cyrillic letters", "\u0410\u0412\u0421", lambda r: asked(r)["look_alike"][0] == "ABC"),
    ("11 are not corrected", "DOT-3\u0410L3000", lambda r: not r.marks and len(r.unread) == 1),
    ("12 full-width", _WIDE, lambda r: _spec(r) == _AL),
    ("13 Arabic digits", "DOT-3AL\u0663\u0660\u0660\u0660", lambda r: not r.marks),
    (
        "13 are offered",
        "DOT-3AL\u0663\u0660\u0660\u0660",
        lambda r: asked(r)["look_alike"][0] == "DOT-3AL3000",
    ),
    (
        "14 superscript",
        "DOT-3AL300\u00b2",
        lambda r: not r.marks and unread(r) == ["DOT-3AL300\u00b2"],
    ),
    ("14 Roman numeral", "\u216b A1/32 21", lambda r: not r.marks and len(r.unread) == 1),
    ("14 half", "PH\u00bdBAR", lambda r: not r.marks and unread(r) == ["PH\u00bdBAR"]),
    ("15 non-breaking hyphen", "TC\u20113ALM207", lambda r: _spec(r) == _ALM),
    ("16 en dash", "TC\u20133ALM\u2013207", lambda r: _spec(r) == _ALM),
    ("16 minus sign", "DOT\u22123AL\u22123000", lambda r: _spec(r) == _AL),
    (
        "17 decimal comma",
        f"{_UN}11,1L",
        lambda r: _litres(r) == "11.1" and "decimal_comma" in warned(r),
    ),
    ("18 underscore in a number", "DOT-3AL3_000", lambda r: not r.marks and len(r.unread) == 1),
    (
        "19 O for 0 in a serial",
        "DOT-3AL3000\nZ12O45",
        lambda r: asked(r)["look_alike"] == ("Z12045", "Z12O45"),
    ),
    ("19 I for 1", "DOT-3AL3000\nZI2345", lambda r: asked(r)["look_alike"][0] == "Z12345"),
    (
        "19 B, S, Z between digits",
        "DOT-3AL3000\n1B2S3Z4",
        lambda r: asked(r)["look_alike"][0] == "1825324",
    ),
    ("20 lower case", "dot-3al3000\nz123", lambda r: _spec(r) == _AL and _serial(r) == "Z123"),
    (
        "40 script",
        "<script>alert(1)</script>",
        lambda r: unread(r) == ["<script>alert(1)</script>"],
    ),
    ("40 template", "{{7*7}}", lambda r: unread(r) == ["{{7*7}}"]),
    ("40 query", "' OR 1=1--", lambda r: not r.marks and len(r.unread) == 1),
    ("40 percent NUL", "%00", lambda r: unread(r) == ["%00"]),
    ("40 spreadsheet", "=cmd", lambda r: unread(r) == ["=cmd"]),
    ("41 emoji", "\U0001f600", lambda r: unread(r) == ["\U0001f600"]),
    ("41 composed letter", "\u00e9", lambda r: unread(r) == ["\u00e9"] and not r.marks),
    ("41 the same, combined", "e\u0301", lambda r: unread(r) == ["e\u0301"] and not r.marks),
    (
        "42 200 lines of camera text",
        "l0rem 1psum ;: d0|or\n" * 200,
        lambda r: len(r.unread) == 200 and not r.marks,
    ),
]


@pytest.mark.parametrize(("name", "text", "holds"), ROWS, ids=[row[0] for row in ROWS])
def test_bad_text_is_answered_as_it_must_be(
    name: str, text: str, holds: Callable[[Reading], bool]
) -> None:
    assert holds(reading_of(text)), name


def test_every_kind_of_bad_text_has_a_row() -> None:
    kinds = {*range(1, 21), 40, 41, 42}
    assert {int(name.split()[0]) for name, _, _ in ROWS} == kinds


def test_a_serial_number_keeps_the_letters_that_can_be_letters() -> None:
    reading = reading_of("DOT-3AL3000\nB12345")
    assert _serial(reading) == "B12345"
    assert reading.questions == ()


def test_a_reader_that_stands_still_leaves_a_sign_unread_and_goes_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("cylinders.rules.markings.words.word", lambda _draft, place: place)
    assert unread(reading_of("?? ?")) == ["?? ?"]
