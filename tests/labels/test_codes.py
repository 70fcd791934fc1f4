import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labels import codes
from tests.labels.samples import CODE, seeded_codes

valid = st.integers(0, 2**60 - 1).map(lambda seed: seeded_codes(1, seed)[0])


def test_a_code_has_twelve_random_symbols_and_a_check_symbol_of_the_same_alphabet() -> None:
    for code in seeded_codes(500):
        assert len(code) == 13
        assert set(code) <= set("0123456789ABCDEFGHJKMNPQRSTVWXYZ")


def test_the_secure_source_gives_codes_that_do_not_repeat() -> None:
    assert len({codes.new_code() for _ in range(2_000)}) == 2_000


def number_of(identifier: str) -> int:
    """The random number that gives an identifier."""
    number = 0
    for symbol in identifier:
        number = number * 32 + codes.ALPHABET.index(symbol)
    return number


def test_an_identifier_whose_check_symbol_leaves_the_alphabet_is_drawn_again() -> None:
    assert codes.check_symbol("7K2M9QX4WBTD") == "I"
    unlucky, lucky = number_of("7K2M9QX4WBTD"), number_of("7K2M9QX4WBTC")
    draws = iter([unlucky, unlucky, lucky])
    assert codes.new_code(lambda: next(draws)) == CODE
    assert next(draws, None) is None


def test_about_one_draw_in_seven_is_repeated() -> None:
    source = random.Random(7)
    draws = 0

    def counted() -> int:
        nonlocal draws
        draws += 1
        return source.getrandbits(60)

    for _ in range(5_000):
        codes.new_code(counted)
    assert 0.85 < 5_000 / draws < 0.88  # 32 of 37


@pytest.mark.parametrize("number", [-1, 2**60])
def test_a_source_out_of_range_is_an_error(number: int) -> None:
    with pytest.raises(RuntimeError, match="no 60 bits"):
        codes.new_code(lambda: number)


def test_a_source_that_is_stuck_is_an_error_and_not_an_endless_loop() -> None:
    with pytest.raises(RuntimeError, match="stuck"):
        codes.new_code(lambda: number_of("7K2M9QX4WBTD"))


@given(valid)
def test_what_is_printed_is_read_back(code: str) -> None:
    assert codes.show(code) == f"{code[:4]} {code[4:8]} {code[8:]}"
    assert codes.compact(codes.show(code)) == code


@given(valid, st.data())
def test_case_blanks_hyphens_and_look_alike_letters_do_not_matter(
    code: str, data: st.DataObject
) -> None:
    twins = {"0": "0Oo", "1": "1IiLl"}
    typed = ""
    for symbol in code:
        typed += data.draw(st.sampled_from(twins.get(symbol, symbol + symbol.lower())))
        typed += data.draw(st.sampled_from(["", " ", "-"]))
    assert codes.compact(typed) == code


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "empty"),
        ("  - ", "empty"),
        (CODE[:-1], "length"),
        (CODE + "0", "length"),
        ("7" * 4_296, "length"),
        ("U" + CODE[1:], "alphabet"),
        (CODE[:-1] + "*", "alphabet"),
        ("\u0417" + CODE[1:], "alphabet"),  # Cyrillic letter like a 3
        ("\uff17" + CODE[1:], "alphabet"),  # full-width seven
        ("\u0661" + CODE[1:], "alphabet"),  # Arabic one
        (CODE[:6] + "\x00" + CODE[6:], "alphabet"),
        ("%" + CODE[1:], "alphabet"),
        ("_" * 13, "alphabet"),
        (".*", "alphabet"),
        ("' OR 1=1--", "alphabet"),
        ("<img onerror>", "alphabet"),
        (CODE[:-1] + "J", "check"),
        ("1234567890123", "check"),
    ],
)
def test_anything_else_is_refused_with_a_named_reason(text: str, reason: str) -> None:
    with pytest.raises(codes.CodeError) as refused:
        codes.compact(text)
    assert refused.value.reason == reason
    assert not codes.is_code(text)


def test_every_single_wrong_symbol_at_every_place_is_caught() -> None:
    for code in seeded_codes(20):
        for place in range(13):
            for other in set(codes.ALPHABET) - {code[place]}:
                assert not codes.is_code(code[:place] + other + code[place + 1 :])


def test_every_swap_of_two_neighbours_is_caught() -> None:
    for code in seeded_codes(300):
        for place in range(12):
            swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
            assert swapped == code or not codes.is_code(swapped)


def test_one_look_alike_symbol_is_offered_back_for_a_person_to_choose() -> None:
    missed = 0
    for code in seeded_codes(200):
        for place, symbol in enumerate(code):
            for other in codes.LOOK_ALIKES.get(symbol, ""):
                offered = codes.did_you_mean(code[:place] + other + code[place + 1 :])
                back = symbol in codes.LOOK_ALIKES.get(other, "")
                missed += back and code not in offered
                assert all(codes.is_code(candidate) for candidate in offered)
    assert missed == 0


def test_a_misread_v_that_arrives_as_u_is_offered_back() -> None:
    code = next(code for code in seeded_codes(100) if "V" in code)
    assert code in codes.did_you_mean(code.replace("V", "U", 1))


@pytest.mark.parametrize("text", [CODE, CODE[:-1], CODE + "8", "", "8" * 4_000])
def test_a_right_code_and_a_torn_one_get_no_suggestion(text: str) -> None:
    assert codes.did_you_mean(text) == ()
