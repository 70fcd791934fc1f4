"""The server reads photos, and refuses files that are none, before they can do harm."""

import gzip
import io
import random
import struct
import zlib
from typing import Any

import numpy as np
import pytest
import zxingcpp
from PIL import Image, ImageFilter, ImageOps

from labels import reading, render_raster
from labels.reading import MOST_PIXELS, PhotoReason, PhotoRefused, read_photo
from tests.damage.wear import Wear, photographed, worn
from tests.labels.samples import CODE, URL, cylinder_tag, seeded_codes, symbol


def photo(code: str = CODE, side: int = 900) -> Image.Image:
    """A tag on a grey bench."""
    tag = Image.open(io.BytesIO(render_raster.png(cylinder_tag(code), dpi=203))).convert("L")
    bench = Image.new("L", (side, side), 120)
    bench.paste(tag, ((side - tag.width) // 2, (side - tag.height) // 2))
    return bench


def saved(picture: Image.Image, kind: str = "JPEG", **more: Any) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **more)
    return out.getvalue()


GOOD = saved(photo())


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_of_a_tag_is_read_at_once(kind: str) -> None:
    assert read_photo(saved(photo(), kind)) == reading.Reading((URL,), 1)


@pytest.mark.parametrize("angle", [7, 90, 133, 180, 270])
def test_a_turned_photo_is_read(angle: float) -> None:
    turned = photo().rotate(angle, Image.Resampling.BICUBIC, expand=True, fillcolor=120)
    assert read_photo(saved(turned)).texts == (URL,)


def test_a_mirrored_and_an_inverted_photo_are_read() -> None:
    assert read_photo(saved(ImageOps.mirror(photo()))).texts == (URL,)
    assert read_photo(saved(ImageOps.invert(photo()))).texts == (URL,)


def test_two_tags_in_view_are_both_reported_so_that_a_person_is_asked() -> None:
    other = seeded_codes(1)[0]
    both = Image.new("L", (1_800, 900), 120)
    both.paste(photo(), (0, 0))
    both.paste(photo(other), (900, 0))
    assert set(read_photo(saved(both)).texts) == {URL, symbol(other).url}


@pytest.mark.parametrize("colours", ["CMYK", "P", "RGBA", "LA", "1", "I;16", "RGB"])
def test_every_way_of_storing_colour_is_read(colours: str) -> None:
    picture = photo()
    if colours == "I;16":
        wide = np.asarray(picture).astype(np.uint16) * 257
        data = saved(Image.fromarray(wide), "PNG")
    else:
        data = saved(picture.convert(colours), "JPEG" if colours == "CMYK" else "PNG")
    assert read_photo(data).texts == (URL,)


def test_a_tag_on_transparent_ground_is_read() -> None:
    tag = Image.open(io.BytesIO(render_raster.png(cylinder_tag(), dpi=203))).convert("L")
    see_through = Image.new("RGBA", tag.size, (0, 0, 0, 255))
    see_through.putalpha(ImageOps.invert(tag))
    assert read_photo(saved(see_through, "PNG")).texts == (URL,)


@pytest.mark.parametrize("kind", ["MicroQRCode", "DataMatrix", "Code128", "Aztec"])
def test_other_kinds_of_symbol_are_not_read(kind: str) -> None:
    made = zxingcpp.create_barcode("7K2M9", zxingcpp.BarcodeFormat[kind])
    image: Any = zxingcpp.write_barcode_to_image(made, scale=8, add_quiet_zones=True)
    framed = ImageOps.expand(Image.fromarray(np.array(image)).convert("L"), 60, 255)
    assert zxingcpp.read_barcodes(framed)
    assert read_photo(saved(framed, "PNG")).texts == ()


GRAINY = Wear(noise=60)
ENLARGED_INK = Wear(growth=0.7)
FADED = Wear(contrast=0.05)


@pytest.mark.parametrize("wear", [GRAINY, ENLARGED_INK, FADED])
def test_mended_forms_read_what_the_plain_picture_does_not(wear: Wear) -> None:
    gained = 0
    for seed in range(4):
        source = np.random.default_rng([85, seed])
        made = symbol()
        picture = Image.fromarray(photographed(worn(made, wear, source), wear, source))
        mended = read_photo(saved(picture, "PNG"))
        assert set(mended.texts) <= {URL}
        gained += bool(mended.texts) and not reading.read_symbols(picture)
    assert gained >= 2


def test_a_half_torn_symbol_is_never_completed() -> None:
    tag = Image.open(io.BytesIO(render_raster.png(cylinder_tag(), dpi=203))).convert("L")
    symbol_only = tag.crop((8, 0, 248, 232))
    for share in (0.45, 0.55, 0.65):
        torn = symbol_only.copy()
        torn.paste(255, (0, 0, round(torn.width * share), torn.height))
        assert read_photo(saved(torn.resize((720, 696)), "PNG")).texts == ()


def zlib_bomb() -> bytes:
    """A PNG whose text chunk would unpack to 100 MB."""
    text = b"comment\x00\x00" + zlib.compress(b"0" * 100_000_000, 9)
    return with_chunk(saved(photo(side=600), "PNG"), b"zTXt", text)


def with_chunk(png: bytes, kind: bytes, body: bytes) -> bytes:
    chunk = struct.pack(">I", len(body)) + kind + body
    chunk += struct.pack(">I", zlib.crc32(kind + body))
    return png[:33] + chunk + png[33:]


def header_only(width: int, height: int) -> bytes:
    """A PNG that claims a size; nothing behind it needs decoding."""
    body = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    png = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR" + body
    png += struct.pack(">I", zlib.crc32(b"IHDR" + body))
    data = zlib.compress(b"\x00" * 1_000)
    png += struct.pack(">I", len(data)) + b"IDAT" + data
    return png + struct.pack(">I", zlib.crc32(b"IDAT" + data))


def frames(kind: str, count: int) -> bytes:
    first = Image.new("L", (64, 64), 0)
    more = [Image.new("L", (64, 64), (n * 37) % 256) for n in range(1, count)]
    return saved(first, kind, save_all=True, append_images=more)


REFUSED: dict[str, tuple[bytes, PhotoReason]] = {
    "0 bytes": (b"", "empty"),
    "1 byte": (b"\xff", "format"),
    "text named .jpg": (b"this is no photo" * 20, "format"),
    "HTML with script": (b"<html><script>alert(1)</script></html>", "format"),
    "SVG with script": (b'<svg xmlns="http://www.w3.org/2000/svg"><script/></svg>', "format"),
    "GIF and script": (b"GIF89a/*" + b"\x00" * 40 + b"*/=1;alert(1)", "format"),
    "an honest GIF": (saved(photo(), "GIF"), "format"),
    "BMP": (saved(photo(), "BMP"), "format"),
    "TIFF": (saved(photo(), "TIFF"), "format"),
    "JPEG 2000": (saved(photo(), "JPEG2000"), "format"),
    "EPS": (saved(photo(side=600), "EPS"), "format"),
    "ICNS": (saved(photo().resize((64, 64)).convert("RGBA"), "ICNS"), "format"),
    "AVIF": (saved(photo(), "AVIF"), "format"),
    "PSD": (b"8BPS\x00\x01" + b"\x00" * 60, "format"),
    "FITS in gzip": (gzip.compress(b"SIMPLE  =          T" + b" " * 2_000, mtime=0), "format"),
    "HEIC": (b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + b"\x00" * 64, "format"),
    "PDF": (b"%PDF-1.7\n1 0 obj\n<< /OpenAction /JS >>\nendobj", "format"),
    "zip": (b"PK\x03\x04" + b"\x00" * 64, "format"),
    "virus test string": (b"X5O!P%@AP[4\\PZX54(P^)7CC)7}$EICAR" + b"-TEST", "format"),
    "JPEG cut in half": (GOOD[: len(GOOD) // 2], "damaged"),
    "PNG cut at 90 %": (saved(photo(), "PNG")[:-400], "damaged"),
    "9000 x 9000 in 10 KB": (header_only(9_000, 9_000), "too_many_pixels"),
    "20000 x 20000": (header_only(20_000, 20_000), "too_many_pixels"),
    "60000 x 60000": (header_only(60_000, 60_000), "too_many_pixels"),
    "just above the limit": (header_only(5_001, 5_000), "too_many_pixels"),
    "1 x 65535": (header_only(1, 65_535), "damaged"),
    "0 high": (header_only(10, 0), "format"),
    "larger than 15 MB": (GOOD + b"\x00" * (15 * 1024 * 1024), "too_large"),
    "text chunk of 100 MB": (zlib_bomb(), "damaged"),
    "a moving WebP": (frames("WEBP", 12), "animated"),
    "a moving PNG": (frames("PNG", 12), "animated"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_that_is_no_single_photo_is_refused_in_words(name: str) -> None:
    data, reason = REFUSED[name]
    with pytest.raises(PhotoRefused) as refused:
        read_photo(data)
    assert refused.value.reason == reason
    assert str(refused.value).endswith(".")


def test_the_pixels_are_judged_before_anything_is_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> None:
        raise AssertionError("decoded")

    monkeypatch.setattr(Image.Image, "load", never)
    with pytest.raises(PhotoRefused):
        read_photo(header_only(9_000, 9_000))


def test_a_photo_of_just_under_25_million_pixels_is_read() -> None:
    large = Image.new("L", (4_990, 5_000), 120)
    large.paste(photo().resize((1_800, 1_800)), (500, 700))
    assert large.width * large.height < MOST_PIXELS
    assert read_photo(saved(large)).texts == (URL,)


def test_damage_in_the_middle_ends_in_a_reading_or_a_refusal_never_in_a_wrong_text() -> None:
    source = random.Random(85)
    for _ in range(12):
        broken = bytearray(GOOD)
        for _ in range(source.randrange(1, 30)):
            broken[source.randrange(600, len(broken))] = source.randrange(256)
        try:
            texts = read_photo(bytes(broken)).texts
        except PhotoRefused:
            continue
        assert set(texts) <= {URL}


@pytest.mark.parametrize("orientation", [*range(1, 9), 9, 0, 65_535])
def test_every_orientation_note_is_read(orientation: int) -> None:
    exif = Image.Exif()
    exif[0x0112] = orientation
    data = saved(photo(), exif=exif)
    assert read_photo(data).texts == (URL,)


@pytest.mark.parametrize(
    ("picture", "hint"),
    [
        (Image.new("L", (600, 600), 0), "dark"),
        (Image.new("L", (600, 600), 255), "bright"),
        (Image.new("L", (600, 600), 128), "contrast"),
        (photo().filter(ImageFilter.GaussianBlur(60)), "blurred"),
        (Image.effect_noise((600, 600), 90), "type its code"),
    ],
)
@pytest.mark.sampled(of=3)
def test_a_photo_without_a_symbol_gets_a_hint(picture: Image.Image, hint: str) -> None:
    result = read_photo(saved(picture, "PNG"))
    assert result.texts == ()
    assert result.passes > 5
    assert hint in result.hint


def test_the_same_photo_reads_the_same_each_time() -> None:
    source = np.random.default_rng(3)
    data = saved(Image.fromarray(photographed(worn(symbol(), GRAINY, source), GRAINY, source)))
    assert read_photo(data) == read_photo(data)
