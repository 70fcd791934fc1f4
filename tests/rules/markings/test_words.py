"""Serial number, maker, REE, thread, alloy, and single words beside a stamp."""

from decimal import Decimal

import pytest

from cylinders.rules.markings import (
    CondemnedMark,
    ManufacturerMark,
    OriginalMark,
    RepairMark,
    ThreadMark,
)
from cylinders.rules.markings.telling import in_words
from tests.rules.markings.reading_of import asked, reading_of, unread, warned


def original(text: str) -> OriginalMark:
    found = reading_of(text).original
    assert found is not None
    return found


@pytest.mark.parametrize(
    "text",
    [
        "DOT-3AL3000\nZ12345\nXY",
        "DOT-3AL3000 Z12345 XY",
        "DOT-3AL3000 Z12345 XY AB 5-95",
        "DOT-3AL3000 S/N Z12345\nXY",
        "DOT-3AL3000\nSERIAL NO. Z12345\nXY",
        "DOT-3AL3000-Z12345\nXY",
        "S/N: Z12345 DOT-3AL3000 M9999",
    ],
)
def test_the_serial_number_is_the_word_next_to_or_below_the_mark(text: str) -> None:
    assert original(text).serial == "Z12345"
    assert original(text).manufacturer_mark in {"XY", "M9999"}


def test_a_word_after_a_slash_is_not_the_serial_number() -> None:
    assert original("DOT-3AL3000/4500").serial is None
    assert unread(reading_of("DOT-3AL3000/4500")) == ["4500"]


def test_a_serial_number_in_two_parts_is_asked_about() -> None:
    reading = reading_of("DOT-3AL3000\nKX 40417\nM9999")
    assert asked(reading)["serial_parted"] == (
        "serial number KX40417",
        "serial number 40417, and KX beside it",
    )
    assert original("DOT-3AL3000\nKX 40417\nM9999").serial is None


def test_an_alloy_where_the_serial_number_may_stand_is_asked_about() -> None:
    assert asked(reading_of("DOT-3AL3000\n6351"))["serial_or_alloy"] == (
        "serial number 6351",
        "alloy 6351",
    )


def test_a_labelled_serial_number_that_differs_is_asked_about() -> None:
    reading = reading_of("DOT-3AL3000 Z1\nS/N Z2")
    assert asked(reading)["two_serials"] == ("Z1", "Z2")
    assert original("DOT-3AL3000 Z11\nS/N Z11").serial == "Z11"
    assert unread(reading_of("S/N ???!")) == ["S/N ???!"]


def test_a_number_not_in_its_place_is_asked_about() -> None:
    reading = reading_of("DOT-3AL3000 TWIN\nZ12345")
    assert asked(reading)["serial_not_in_place"] == ("Z12345", "none of these")
    assert "serial_not_in_place" not in asked(reading_of("DOT-3AL3000 TWIN"))
    assert "serial_not_in_place" not in asked(reading_of("DOT-3AL3000 TWIN\n\u0663\u0663\u0663"))


def test_letters_are_a_maker_only_in_the_makers_place() -> None:
    assert original("DOT-3AL3000 Z1\nMADE IN USA").manufacturer_mark is None
    assert original("DOT-3AL3000 Z1 AIR").manufacturer_mark is None
    assert original("DOT-3AL3000 Z1 TOOLONG").manufacturer_mark is None
    assert original("DOT-3E1800\nXY").manufacturer_mark == "XY"
    assert original("DOT-3AL3000\nXY").manufacturer_mark is None


def test_one_mark_between_number_and_date_may_be_the_makers_or_the_inspectors() -> None:
    reading = reading_of("DOT-3AA2400 123456 XYZ 6-85")
    assert asked(reading)["maker_or_inspector"] == ("maker XYZ", "inspector XYZ")
    assert original("DOT-3AA2400 123456 XYZ 6-85").inspector_mark is None
    assert original("DOT-3AA2400 123456 XYZ 6-85").manufacturer_mark is None
    assert original("DOT-3AA2400 123456\nXYZ 6-85").inspector_mark == "XYZ"
    assert original("DOT-3AA2400 123456 M9999 XYZ 6-85").inspector_mark == "XYZ"
    both = original("ICC-3AA2250 X1234 QRS 5 A 62")
    assert (both.manufacturer_mark, both.inspector_mark) == ("QRS", "A")


def test_two_makers_numbers_are_asked_about() -> None:
    reading = reading_of("DOT-3AL3000 Z1\nM9999 M8888")
    assert asked(reading)["two_makers"] == ("M9999", "M8888")
    assert original("DOT-3AL3000 Z1\nM9999 M8888").manufacturer_mark is None
    assert original("DOT-3AL3000 Z1\nM9999 M9999").manufacturer_mark == "M9999"
    assert reading_of("M9999").marks == (ManufacturerMark("M9999"),)
    assert original("DOT-3AL3000 M9999 Z1").serial == "Z1"


@pytest.mark.parametrize("text", ["REE 62.5", "R.E.E. 62.5 CC", "REE=62,5"])
def test_the_rejection_elastic_expansion_is_read_in_cc(text: str) -> None:
    assert original(f"DOT-3HT1850 {text}\n4321").ree_cc == Decimal("62.5")
    assert original(f"DOT-3HT1850 {text}\n4321").serial == "4321"


def test_an_ree_of_zero_or_beside_no_mark_is_not_taken() -> None:
    assert "ree_impossible" in warned(reading_of("DOT-3HT1850 REE 0"))
    assert original("DOT-3HT1850 REE 0").ree_cc is None
    assert original("DOT-3HT1850 REE 1,000").ree_cc is None
    assert unread(reading_of("REE 62.5")) == ["REE 62.5"]


@pytest.mark.parametrize(
    ("written", "thread"),
    [
        ("M25x2", "M25x2"),
        ("M18 x 1.5", "M18x1.5"),
        ("25E", "25E"),
        ("3/4-14 NPSM", "3/4-14 NPSM"),
        ("3/4 NGS", "3/4 NGS"),
        ("7/8-14UNF", "7/8-14 UNF"),
        ('1/2"-14 NPSM', "1/2-14 NPSM"),
    ],
)
def test_a_thread_is_read_in_one_spelling(written: str, thread: str) -> None:
    assert original(f"DOT-3AL3000 Z1\n{written}").thread == thread
    assert reading_of(written).marks == (ThreadMark(thread),)


@pytest.mark.parametrize("text", ["3/4", '3/4"', "3/4 IN", "3/4-14"])
def test_a_bare_size_is_asked_about(text: str) -> None:
    assert asked(reading_of(text))["thread"] == (
        "3/4-14 NPSM",
        "3/4-14 NGS",
        "M25x2",
        "none of these",
    )
    assert asked(reading_of("5/8"))["thread"] == ("none of these",)


def test_an_alloy_is_kept_with_the_stamp_and_6351_is_warned_of() -> None:
    assert original("DOT-3AL3000 Z1\nALLOY 6061-T6").alloy == "6061"
    assert "alloy_6351" in warned(reading_of("DOT-3AL3000 Z1\nAA 6351"))
    assert "alloy_barred" in warned(reading_of("UN ISO 7866 AA6351"))
    assert unread(reading_of("6351-T6")) == ["6351-T6"]


@pytest.mark.parametrize(
    "text",
    [
        "XXX",
        "XXXXXXX",
        "X X X X",
        "xxxx",
        "\u00d7\u00d7\u00d7\u00d7",
        "XXXXXXX over DOT-3AL3000",
        "3AXXXX",
    ],
)
def test_a_row_of_x_condemns(text: str) -> None:
    assert reading_of(text).condemned
    assert reading_of(text).marks[0] == CondemnedMark(crossed_out=True)


@pytest.mark.parametrize("text", ["X", "XX", "X X", "5 A1/32 21 X"])
def test_one_or_two_x_do_not_condemn(text: str) -> None:
    assert not reading_of(text).condemned


def test_condemned_is_read_as_a_word_and_offered_when_misread() -> None:
    assert reading_of("condemned").marks == (CondemnedMark(),)
    for text in ("C0NDEMNED", "CONDEMNE", "COND"):
        assert not reading_of(text).condemned
        assert asked(reading_of(text))["look_alike"][0] == "CONDEMNED"


def test_a_struck_out_text_is_said_to_be_one() -> None:
    assert "struck_out" in warned(reading_of("3\u0336A\u0336L\u0336"))


@pytest.mark.parametrize("word", ["RETHREAD", "RE-THREADED", "REBUILT", "REPAIRED"])
def test_a_repair_is_read(word: str) -> None:
    assert reading_of(word).marks == (RepairMark(word),)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("D0T-3AL3000", "DOT-3AL3000"),
        ("DOT-3ALBOOO", "DOT-3AL8000"),
        ("1CC-3AA22S0", "ICC-3AA2250"),
        ("DOT-4840O", "DOT-4B400"),
        ("5 A1/32 2I", "5 A1/32 21"),
        ("I2 A1/32 19", "12 A1/32 19"),
        ("D0T", "DOT"),
        ("\u0405T", "ST"),
    ],
)
def test_look_alikes_are_offered_and_never_put_in_place(text: str, meant: str) -> None:
    reading = reading_of(text)
    assert reading.marks == ()
    assert asked(reading)["look_alike"] == (meant, text)


def test_at_most_twenty_look_alikes_are_offered() -> None:
    assert len(reading_of("D0T\n" * 50).questions) == 20
    assert reading_of("D0T " * 50).questions == ()


def test_a_text_is_told_to_a_person_line_by_line() -> None:
    told = in_words(reading_of("CONDEMNED\nUN ISO 9809-1\nM9999")).split("\n")
    assert told[0] == "CONDEMNED: no service of any kind"
    assert told[2].startswith("UN or ISO stamp: standard ISO 9809-1")
    assert in_words(reading_of("")) == ""
