"""A photo from outside, judged before it is decoded and then made anew as a plain JPEG.

Nothing of the sent bytes is kept: what a camera adds (place, time, owner, previews) is gone, and so
is whatever was hidden in the file. Three formats are opened at all, each found by its first bytes
and never by a name; the size in pixels is read from the header before anything is decoded. A JPEG
is decoded no larger than it will be kept, and one photo at a time, so that memory stays bounded.
"""

import io
import struct
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from PIL import Image, ImageFilter, ImageStat

from cylinders.operations.filing import Content
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say
from labels import reading

MOST_BYTES = 8 * 1024 * 1024
MOST_PIXELS = 25_000_000
#: What is transparent is laid on white at its full size, and a WebP is decoded twice over: with
#: these bounds neither takes more memory than a photo of 25 million pixels. Cameras make JPEGs.
MOST_PIXELS_WITH_ALPHA = 12_000_000
MOST_PIXELS_OF_WEBP = 6_000_000
#: A progressive JPEG is held whole as coefficients, two bytes each, whatever size is asked for.
MOST_COEFFICIENTS = 50_000_000
_LEAST_SIDE, _KEPT_SIDE, _QUALITY = 32, 1_600, 82
#: A camera's progressive JPEG has about ten; each costs the time of a whole picture.
_MOST_SCANS = 40
_DARK, _BRIGHT, _FLAT, _SOFT = 30, 225, 12.0, 4.0
_ORIENTATION = 0x0112  # tag of Exif 2.32, table 4
_UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_ONE_AT_A_TIME = threading.Lock()
#: what the decoders raise for a file that is not what it says
BROKEN = (
    *(OSError, ValueError, SyntaxError, EOFError, IndexError, KeyError, TypeError),
    *(MemoryError, OverflowError, struct.error),
)


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo that may be kept; ``hint`` says what could be better, ``texts`` what symbols say."""

    content: Content
    hint: str
    texts: tuple[str, ...]


def judged(data: bytes) -> Photo:
    """The photo made anew: upright, at most 1,600 pixels a side, without metadata.

    Raises :class:`Refused` with a sentence that says what to do instead.
    """
    if not data:
        raise Refused("photo_empty", say("The file is empty: take the photo again."))
    if len(data) > MOST_BYTES:
        says = say("It is larger than {limit} MB: make it smaller.", limit=MOST_BYTES // 1024**2)
        raise Refused("photo_too_large", says)
    kind = kind_of(data)
    with _ONE_AT_A_TIME, _warnings_are_faults():
        picture = _decoded(data, kind)
        orientation = _orientation(picture)
        picture.thumbnail((_KEPT_SIDE, _KEPT_SIDE))
        plain = _plain(picture)
    if orientation in _UPRIGHT:
        plain = plain.transpose(_UPRIGHT[orientation])
    fresh = Image.new("RGB", plain.size)  # carries nothing over but the pixels
    fresh.paste(plain)
    out = io.BytesIO()
    fresh.save(out, "JPEG", quality=_QUALITY)
    grey = fresh.convert("L")
    content = Content(out.getvalue(), "image/jpeg", *fresh.size)
    return Photo(content, _hint(grey), reading.read_symbols(grey))


def kind_of(data: bytes) -> str:
    """JPEG, PNG or WEBP by the first bytes; raises :class:`Refused` for everything else."""
    if data.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WEBP"
    if data[4:8] == b"ftyp" and data[8:12] in {b"heic", b"heix", b"hevc", b"mif1", b"msf1"}:
        says = say(
            "This is a HEIC photo, which is not read here. Set the camera to save JPEG (often "
            "called most compatible), or take the photo with the button of this page."
        )
        raise Refused("photo_heic", says)
    if data[4:8] == b"ftyp" and data[8:12] in {b"avif", b"avis"}:
        raise Refused("photo_avif", say("This is an AVIF picture. Send it as JPEG."))
    if data[:1024].lstrip().startswith(b"%PDF"):
        raise Refused("photo_pdf", say("This is a PDF, no photo. Take a photo of the paper."))
    raise Refused("photo_format", say("This is no JPEG, PNG or WebP photo."))


def _decoded(data: bytes, kind: str) -> Image.Image:
    """Judge the header, then decode; every way of being no photo becomes a :class:`Refused`."""
    if kind == "WEBP":
        _check_webp(data)
    if kind == "JPEG" and data.count(b"\xff\xda") > _MOST_SCANS:
        raise _damaged()
    try:
        picture = Image.open(io.BytesIO(data), formats=[kind])
        width, height = picture.size
        moving = picture.format != "MPO" and getattr(picture, "n_frames", 1) != 1
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
        raise _too_many_pixels() from bomb
    except BROKEN as problem:
        raise _damaged() from problem
    alpha = "A" in picture.getbands()
    if width * height > (MOST_PIXELS_WITH_ALPHA if alpha else MOST_PIXELS):
        raise _too_many_pixels()
    if _coefficients(picture) > MOST_COEFFICIENTS:
        raise _too_many_pixels()
    if moving:
        raise Refused("photo_moving", say("This is a moving picture: send a single photo."))
    if min(width, height) < _LEAST_SIDE:
        says = say("It has only {width} x {height} pixels.", width=width, height=height)
        raise Refused("photo_too_small", says)
    try:
        picture.draft("RGB", (_KEPT_SIDE, _KEPT_SIDE))
        picture.load()
    except BROKEN as problem:
        raise _damaged() from problem
    return picture


def _check_webp(data: bytes) -> None:
    """Size and animation from the header: the decoder takes its memory before anybody can ask."""
    chunk, body = data[12:16], data[20:30]
    try:
        if chunk == b"VP8X":
            width = 1 + int.from_bytes(body[4:7], "little")
            height = 1 + int.from_bytes(body[7:10], "little")
        elif chunk == b"VP8L":
            bits = int.from_bytes(body[1:5], "little")
            width, height = 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
        else:
            width, height = (side & 0x3FFF for side in struct.unpack("<HH", body[6:10]))
    except struct.error as problem:
        raise _damaged() from problem
    if width * height > MOST_PIXELS_OF_WEBP:
        says = say("This WebP has too many pixels. Send the photo as JPEG.")
        raise Refused("photo_too_many_pixels", says)
    if chunk == b"VP8X" and body[:1] and body[0] & 0x02:
        raise Refused("photo_moving", say("This is a moving picture: send a single photo."))


def _coefficients(picture: Image.Image) -> int:
    """How many coefficients the decoder holds at once: of a plain JPEG, next to none."""
    if not picture.info.get("progressive"):
        return 0
    layers: list[tuple[int, int]] = [part[1:3] for part in getattr(picture, "layer", [])]
    finest = max(across for across, _down in layers) * max(down for _across, down in layers)
    shares = sum(across * down for across, down in layers)
    return picture.width * picture.height * shares // max(finest, 1)


def _orientation(picture: Image.Image) -> object:
    """How the camera was held; metadata that cannot be read turns nothing."""
    try:
        return picture.getexif().get(_ORIENTATION)
    except (*BROKEN, Warning):
        return None


def _plain(picture: Image.Image) -> Image.Image:
    """Eight bits of red, green and blue; what is transparent shows white."""
    if picture.mode.startswith("I"):
        picture = picture.convert("I").point(lambda value: value / 256).convert("L")
    if "A" in picture.getbands() or "transparency" in picture.info:
        ground = Image.new("RGBA", picture.size, "white")
        return Image.alpha_composite(ground, picture.convert("RGBA")).convert("RGB")
    return picture.convert("RGB")


def _hint(grey: Image.Image) -> str:
    """What could be better, from brightness, spread and sharpness; a guess, and worded as one."""
    small = grey.copy()
    small.thumbnail((400, 400))
    spread = ImageStat.Stat(small)
    # The rim is an edge in every picture.
    inner = (1, 1, small.width - 1, small.height - 1)
    edges = ImageStat.Stat(small.filter(ImageFilter.FIND_EDGES).crop(inner))
    if spread.mean[0] < _DARK:
        return say("It is very dark. More light would help.")
    if spread.mean[0] > _BRIGHT:
        return say("It is very bright. Turn away from the glare.")
    if spread.stddev[0] < _FLAT or edges.stddev[0] < _SOFT:
        return say("It looks blurred. Hold still, and let the camera find its focus.")
    return ""


def _too_many_pixels() -> Refused:
    says = say("It has too many pixels: 25 million at most. Set the camera to a smaller picture.")
    return Refused("photo_too_many_pixels", says)


def _damaged() -> Refused:
    return Refused("photo_damaged", say("The file is damaged: take the photo again."))


@contextmanager
def _warnings_are_faults() -> Iterator[None]:
    """A bomb is no warning here; spoilt metadata is worth none, as none of it is used."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        yield
