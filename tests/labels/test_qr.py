import base64

import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from labels import codes, qr
from tests.labels.samples import CODE, HOST, URL, read_by_opencv, seeded_codes


def enlarged(symbol: qr.Symbol, scale: int = 6) -> Image.Image:
    """A clean picture with its quiet zone."""
    side = symbol.size + 8
    picture = Image.new("L", (side, side), 255)
    for row, line in enumerate(symbol.rows):
        for column, module in enumerate(line):
            picture.putpixel((column + 4, row + 4), 0 if module == "1" else 255)
    return picture.resize((side * scale, side * scale), Image.Resampling.NEAREST)


def test_a_tag_is_version_3_level_q_and_a_reader_gives_back_the_address() -> None:
    symbol = qr.symbol(HOST, CODE)
    assert (symbol.version, symbol.size, symbol.mask) == (3, 29, 3)
    [found] = zxingcpp.read_barcodes(enlarged(symbol))
    assert found.text == symbol.url == URL
    assert found.ec_level == "Q"
    assert read_by_opencv(enlarged(symbol)) == [URL]


def test_the_modules_are_kept_in_144_letters_of_text() -> None:
    symbol = qr.symbol(HOST, CODE)
    assert len(symbol.bits) == 144
    assert len(base64.b64decode(symbol.bits)) == 106
    assert qr.Symbol(symbol.bits, symbol.url).rows == symbol.rows


def test_the_same_code_always_gives_the_same_symbol() -> None:
    assert qr.symbol(HOST, CODE) == qr.symbol(HOST.upper(), codes.show(CODE).lower())


@pytest.mark.parametrize("mask", range(8))
def test_every_mask_reads(mask: int) -> None:
    assert read_by_opencv(enlarged(qr.symbol(HOST, CODE, mask))) == [URL]


@given(st.sampled_from(seeded_codes(60)))
def test_the_runs_are_the_dark_modules(code: str) -> None:
    symbol = qr.symbol(HOST, code)
    painted = [["0"] * symbol.size for _ in range(symbol.size)]
    for row, start, length in symbol.runs:
        for column in range(start, start + length):
            assert painted[row][column] == "0"
            painted[row][column] = "1"
    assert tuple("".join(row) for row in painted) == symbol.rows


def test_bits_of_another_size_are_refused() -> None:
    spoilt = qr.Symbol(base64.b64encode(b"\x00" * 100).decode(), URL)
    with pytest.raises(ValueError, match="100 bytes are no 29 x 29"):
        _ = spoilt.rows


@pytest.mark.parametrize("length", [n for n in range(1, 19) if n not in {12, 15}])
def test_hosts_up_to_18_characters_fit_version_3(length: int) -> None:
    host = ("a" * (length - 2) + ".b") if length > 3 else "a" * length
    symbol = qr.symbol(host, CODE)
    [found] = zxingcpp.read_barcodes(enlarged(symbol))
    assert found.text == qr.tag_url(host, CODE)


@pytest.mark.parametrize("length", [12, 15])
def test_a_host_whose_payload_ends_on_a_byte_is_refused_with_what_fits(length: int) -> None:
    with pytest.raises(qr.HostRefused, match=r"pad differently.*longest host that fits has 18"):
        qr.check_host("a" * length)


@pytest.mark.parametrize("length", [15, 18, 31, 34])
def test_the_encoders_really_disagree_at_those_lengths(length: int) -> None:
    rest = ("://A/T/" + "7" * 40)[:length]
    with pytest.raises(qr.SymbolMismatch, match="nothing was minted"):
        qr.make((("https", "byte"), (rest, "alphanumeric")))


@pytest.mark.parametrize("length", [n for n in range(7, 38) if n not in {15, 18, 31, 34}])
def test_they_agree_at_every_other_length(length: int) -> None:
    rest = ("://A/T/" + "7" * 40)[:length]
    assert qr.make((("https", "byte"), (rest, "alphanumeric"))).url == "https" + rest


@pytest.mark.parametrize("length", range(19, 30))
def test_a_longer_host_is_refused_with_the_longest_that_fits(length: int) -> None:
    with pytest.raises(qr.HostRefused, match=r"larger symbol.*longest host that fits has 18"):
        qr.check_host("a" * length)


@pytest.mark.parametrize(
    "host",
    [
        "",
        " ",
        "a b",
        "a/b",
        "a@b",
        "a..b",
        ".a",
        "a.",
        "-a",
        "t\u00e4g.example",
        "a_b",
        "a:",
        "a:99999",
        "https://a",
        "[::1]",
    ],
)
def test_what_is_no_host_name_is_refused(host: str) -> None:
    with pytest.raises(qr.HostRefused, match="no host name"):
        qr.check_host(host)


def test_a_host_may_have_a_port() -> None:
    assert qr.check_host("127.0.0.1:8000") == "127.0.0.1:8000"
    assert qr.check_host(" Tag.Example ") == "TAG.EXAMPLE"


def test_a_bad_code_is_never_minted() -> None:
    with pytest.raises(codes.CodeError):
        qr.symbol(HOST, CODE[:-1] + "J")


def test_nothing_is_minted_when_the_second_encoder_disagrees(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    honest = qr._by_qrcode

    def one_module_off(*given: object) -> list[str]:
        rows = honest(*given)  # type: ignore[arg-type]  # passed through unchanged
        return [*rows[:-1], rows[-1][:-1] + ("0" if rows[-1][-1] == "1" else "1")]

    monkeypatch.setattr(qr, "_by_qrcode", one_module_off)
    with pytest.raises(qr.SymbolMismatch):
        qr.symbol(HOST, CODE)


def test_the_terminal_shows_a_symbol_that_reads() -> None:
    art = qr.terminal_art("http://192.0.2.7:8000/").rstrip("\n")
    lines = art.splitlines()
    picture = Image.new("L", (max(map(len, lines)), 2 * len(lines)), 0)
    upper, lower = "\u2580\u2588", "\u2584\u2588"  # light halves, as on a dark terminal
    for y, line in enumerate(lines):
        for x, sign in enumerate(line):
            picture.putpixel((x, 2 * y), 255 if sign in upper else 0)
            picture.putpixel((x, 2 * y + 1), 255 if sign in lower else 0)
    picture = picture.resize((picture.width * 6, picture.height * 6), Image.Resampling.NEAREST)
    assert [found.text for found in zxingcpp.read_barcodes(picture)] == ["http://192.0.2.7:8000/"]
