"""ISO/IEC 18004: two encoders and an independent reader agree on every symbol that is made.

The capacity of version 3 at level Q is 34 data code words: 47 alphanumeric or 32 byte characters
(the standard's table 7; the figures stand in many public copies of it).
"""

import itertools

import pytest
import segno
import zxingcpp
from qrcode import QRCode, constants, exceptions

from labels import qr
from tests.labels.samples import CODE, HOST, seeded_codes
from tests.labels.test_qr import enlarged

FINDER = ("1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111")


def test_both_encoders_make_the_same_symbol_for_every_mask() -> None:
    for code, mask in itertools.product(seeded_codes(25), range(8)):
        qr.symbol(HOST, code, mask)  # raises SymbolMismatch otherwise


def test_the_second_encoders_own_choice_of_segments_is_ours() -> None:
    """It splits a text so that the bits are fewest: our two segments are no waste."""
    for code in seeded_codes(40):
        symbol = qr.symbol(HOST, code)
        free = QRCode(3, constants.ERROR_CORRECT_Q, border=0, mask_pattern=3)
        free.add_data(symbol.url)
        free.make(fit=False)
        rows = tuple("".join("1" if m else "0" for m in row) for row in free.modules)
        assert rows == symbol.rows


@pytest.mark.parametrize(("text", "fits"), [("A" * 47, True), ("A" * 48, False)])
def test_version_3_q_holds_47_alphanumeric_characters(text: str, fits: bool) -> None:  # noqa: FBT001 - a column of the table
    for make in (by_segno, by_qrcode):
        if fits:
            make(text)
        else:
            with pytest.raises((segno.DataOverflowError, exceptions.DataOverflowError)):
                make(text)


def by_segno(text: str) -> None:
    segno.make(text, version=3, error="q", boost_error=False)


def by_qrcode(text: str) -> None:
    made = QRCode(3, constants.ERROR_CORRECT_Q)
    made.add_data(text)
    made.make(fit=False)


def test_the_longest_host_fills_the_symbol_and_one_more_does_not_fit() -> None:
    """4 + 8 + 40 bits of "https", 4 + 9 bits of head, 37 characters in 204 bits: 269 of 272."""
    assert qr._payload_bits(18) == 4 + 8 + 40 + 4 + 9 + 11 * 18 + 6 == 269
    assert qr.make((("https", "byte"), ("A" * 37, "alphanumeric"))).version == 3
    with pytest.raises(segno.DataOverflowError):
        qr.make((("https", "byte"), ("A" * 38, "alphanumeric")))


def test_the_function_patterns_stand_where_the_standard_puts_them() -> None:
    rows = qr.symbol(HOST, CODE).rows
    for top, left in ((0, 0), (0, 22), (22, 0)):
        assert tuple(row[left : left + 7] for row in rows[top : top + 7]) == FINDER
    assert rows[6][8:21] == "1010101010101"
    assert "".join(row[6] for row in rows[8:21]) == "1010101010101"
    alignment = tuple(row[20:25] for row in rows[20:25])
    assert alignment == ("11111", "10001", "10101", "10001", "11111")
    assert rows[21][8] == "1"


def test_the_format_bits_say_level_q_and_the_mask() -> None:
    """Level Q is 11; five bits of level and mask, ten of BCH, all masked with 101010000010010."""
    for mask in range(8):
        rows = qr.symbol(HOST, CODE, mask).rows
        first = [rows[8][column] for column in (0, 1, 2, 3, 4, 5, 7, 8)]
        second = [rows[row][8] for row in (7, 5, 4, 3, 2, 1, 0)]
        bits = int("".join(first + second), 2) ^ 0b101010000010010
        assert bits >> 10 == 0b11000 | mask
        assert bch_remainder(bits) == 0


def bch_remainder(bits: int) -> int:
    """The remainder by the format code's generator polynomial 10100110111."""
    for shift in range(4, -1, -1):
        if bits >> (shift + 10) & 1:
            bits ^= 0b10100110111 << shift
    return bits


def test_an_independent_reader_gives_back_every_text() -> None:
    for code in seeded_codes(60, seed=18004):
        symbol = qr.symbol(HOST, code)
        [found] = zxingcpp.read_barcodes(enlarged(symbol, 4))
        assert (found.text, found.ec_level) == (symbol.url, "Q")
