"""ISO/IEC 7064 MOD 37-2, against python-stdnum's own implementation of the standard."""

import random

from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_2

from labels import codes
from tests.labels.samples import seeded_codes

SYMBOLS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@given(st.text(alphabet=SYMBOLS, min_size=1, max_size=20))
def test_the_check_symbol_is_the_one_of_the_standard(identifier: str) -> None:
    assert codes.check_symbol(identifier) == mod_37_2.calc_check_digit(identifier)


def test_twenty_thousand_identifiers_of_a_tags_length_agree() -> None:
    source = random.Random(7064)
    for _ in range(20_000):
        identifier = "".join(source.choices(codes.ALPHABET, k=12))
        assert codes.check_symbol(identifier) == mod_37_2.calc_check_digit(identifier)


def test_every_minted_code_is_valid_by_the_standard() -> None:
    for code in seeded_codes(2_000):
        assert mod_37_2.is_valid(code)


def test_a_code_is_accepted_exactly_when_the_standard_accepts_it() -> None:
    source = random.Random(372)
    for code in seeded_codes(500):
        place = source.randrange(13)
        changed = code[:place] + source.choice(codes.ALPHABET) + code[place + 1 :]
        assert codes.is_code(changed) == mod_37_2.is_valid(changed)
