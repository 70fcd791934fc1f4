"""When a plus stands, and when a star counts."""

import pytest

from tests.rules.markings.reading_of import reading_of, warned

FIRST = "DOT-3AA2250\n1001\nXY\nAB 5-95"


STANDS, FALLS = "stands", "falls"


@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        (f"{FIRST}+", STANDS),
        (FIRST, FALLS),
        (f"{FIRST}+\n5 A1/32 01+", STANDS),
        (f"{FIRST}+\n5 A1/32 01", FALLS),
        (f"{FIRST}\n5 A1/32 01+", STANDS),
        (f"{FIRST}+\n5 A1/32 01+\n6 A1/32 06 S", FALLS),
        ("DOT-3AA2250+", FALLS),
        ("5 A1/32 21+", FALLS),
        ("DOT-3AL3000 Z1 M9999 07C08+", FALLS),
        ("TC-3AAM184 Z1 M9999 07C08+", FALLS),
        ("DOT-SP99999-3442 Z1 M9999 07C08+", FALLS),
        (f"{FIRST}+\nCONDEMNED", FALLS),
        (f"{FIRST}+\n03-05", FALLS),
        (f"{FIRST}+\n5-01", FALLS),
        (f"{FIRST}+\n5-90", STANDS),
        (f"{FIRST}+\n12 A1/32 26", FALLS),
        (f"{FIRST}+\n5 A1/32 2?", FALLS),
        (f"{FIRST}+\n~~~", STANDS),
    ],
)
def test_a_plus_stands_only_on_the_latest_test_of_a_specification_that_may_carry_it(
    text: str, outcome: str
) -> None:
    assert reading_of(text).plus_stands is (outcome == STANDS)


def test_a_plus_beside_something_unread_is_said_to_be_open() -> None:
    assert "plus_not_certain" in warned(reading_of(f"{FIRST}+\n5 A1/32 2?"))
    assert "plus_not_certain" in warned(reading_of(f"{FIRST}\n5 A1/32 01+\n5 A1/32 2?"))
    assert "plus_not_certain" not in warned(reading_of(f"{FIRST}\n5 A1/32 2?"))


@pytest.mark.parametrize("spec", ["3AL3000", "4B240", "3HT1850 REE 62.5"])
def test_a_plus_on_another_specification_is_warned_of(spec: str) -> None:
    assert "plus_not_allowed" in warned(reading_of(f"DOT-{spec}\nZ1\nXY\nAB 5-95+"))
    assert "plus_not_allowed" in warned(reading_of(f"DOT-{spec}\n5 A1/32 21+"))


@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        ("DOT-3AA2250\n5 A1/32 21 \u2605", STANDS),
        ("DOT-3A1800\n5 A1/32 21 STAR", STANDS),
        ("DOT-3AL3000\n5 A1/32 21 \u2605", FALLS),
        ("DOT-3AA2250\n5 A1/32 16 \u2605\n5 A1/32 21", FALLS),
        ("DOT-3AA2250", FALLS),
        ("5 A1/32 21 \u2605", FALLS),
    ],
)
def test_a_star_counts_only_on_the_latest_test_of_3a_and_3aa(text: str, outcome: str) -> None:
    assert reading_of(text).star is (outcome == STANDS)


def test_a_star_is_always_said_to_be_void_under_water() -> None:
    assert warned(reading_of("DOT-3AA2250\n5 A1/32 21 \u2605")) == {"star_not_under_water"}
    assert "star_not_allowed" in warned(reading_of("DOT-3AL3000\n5 A1/32 21 \u2605"))


@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        ("DOT-3AA2250\n5 A1/32 21 VE", FALLS),
        ("DOT-3AL3000\n5 A1/32 21 VE", STANDS),
        ("TC-3ALM207\n5 A1/32 21 VE", STANDS),
        ("DOT-3AL3000\n5 A1/32 21 FS", FALLS),
        ("DOT-8AL\n5 A1/32 21 FS", STANDS),
        ("5 A1/32 21 VE", STANDS),
    ],
)
def test_a_symbol_of_another_specification_is_warned_of(text: str, outcome: str) -> None:
    warns = "symbol_not_for_specification" in warned(reading_of(text))
    assert warns is (outcome == FALLS)
