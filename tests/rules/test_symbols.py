"""The symbols behind a requalification date."""

import pytest

from cylinders.rules.symbols import GERMAN_F, SYMBOLS, find_symbol


@pytest.mark.parametrize("code", ["", "star", "+", "S", "E", "FS", "UE", "AE", "VE"])
def test_every_symbol_of_the_regulation_has_a_row_with_its_paragraph(code: str) -> None:
    row = find_symbol(code)
    assert row is SYMBOLS[code]
    assert row.cites.source.startswith("49 CFR 180.213(f)(")
    assert row.test


def test_letters_that_are_not_in_the_regulation_have_no_row() -> None:
    assert {find_symbol(code) for code in ("V", "R", "X", "F", "UW", "H")} == {None}
    assert find_symbol(None) is SYMBOLS[""]
    assert GERMAN_F.test == "strength test"


def test_star_and_external_visual_exclude_breathing_under_water() -> None:
    assert {code for code, row in SYMBOLS.items() if not row.scuba} == {"star", "E"}
    assert (SYMBOLS["star"].years, SYMBOLS["E"].years, SYMBOLS[""].years) == (10, 5, None)
