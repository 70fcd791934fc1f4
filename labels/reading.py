"""The server reads a photo of a tag, when the phone could not.

A photo comes from outside, so it is judged before it is decoded: few formats by allow-list, a
bound on bytes and, from the header alone, on pixels. Then the picture is tried as it is and in
several mended forms (larger, blots opened, scratches closed, speckle filtered, contrast evened
out), and the first form in which anything is read ends the search. Only QR symbols of model 2 are
looked for: Micro QR, Data Matrix and the makers' bar codes are nobody's tag.
"""

from __future__ import annotations

import io
import warnings
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import zxingcpp
from PIL import Image, ImageChops, ImageFilter, ImageOps, ImageStat, UnidentifiedImageError

from cylinders.rules.wording import say

if TYPE_CHECKING:
    from collections.abc import Iterator

#: Formats that are opened at all; a multi-picture JPEG counts as JPEG, its first picture is read.
FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 25_000_000
MOST_BYTES = 15 * 1024 * 1024
_LEAST_SIDE, _WORKING_SIDE, _LARGE_SIDE = 21, 2_000, 1_200
_MIDDLE = 128
_DARK, _BRIGHT, _FLAT, _SOFT = 40, 215, 12.0, 4.0

PhotoReason = Literal["empty", "too_large", "format", "too_many_pixels", "animated", "damaged"]


class PhotoRefused(ValueError):
    """Raised for a file that is not read as a photo; ``reason`` names the fault for machines."""

    def __init__(self, reason: PhotoReason, says: str) -> None:
        super().__init__(says)
        self.reason: PhotoReason = reason


@dataclass(frozen=True, slots=True)
class Reading:
    """What a photo holds: the distinct texts of all symbols in it, in no order that matters.

    ``passes`` says how many forms were tried. With no text, ``hint`` says what a person can do
    better. Two texts mean two tags in view: ask which is meant.
    """

    texts: tuple[str, ...]
    passes: int
    hint: str = ""


def read_photo(data: bytes) -> Reading:
    """Read the symbols in an uploaded photo; raises :class:`PhotoRefused`."""
    return read_picture(_open(data))


def read_picture(picture: Image.Image) -> Reading:
    """Read the symbols in a decoded picture, in as many passes as it takes."""
    grey = _grey(picture)
    grey.thumbnail((_WORKING_SIDE * 2, _WORKING_SIDE * 2))
    passes = 0
    for mended in _forms(grey):
        passes += 1
        if texts := read_symbols(mended):
            return Reading(texts, passes)
    return Reading((), passes, _hint(grey))


def read_symbols(picture: Image.Image) -> tuple[str, ...]:
    """The distinct texts of the QR symbols in one picture, sorted; a spoilt symbol gives none."""
    found = zxingcpp.read_barcodes(
        picture, formats=zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCodeModel2])
    )
    return tuple(sorted({symbol.text for symbol in found if symbol.valid}))


def _open(data: bytes) -> Image.Image:
    """Judge and decode a file; every way of being no photo becomes a :class:`PhotoRefused`.

    A JPEG is decoded without its colours and no larger than it will be looked at.
    """
    if not data:
        raise PhotoRefused("empty", say("The photo is empty: take it again."))
    if len(data) > MOST_BYTES:
        limit = MOST_BYTES // 1024 // 1024
        raise PhotoRefused(
            "too_large", say("The photo is larger than {limit} MB: make it smaller.", limit=limit)
        )
    picture = _header(data)
    width, height = picture.size
    if width * height > MOST_PIXELS:
        says = say(
            "The photo has {width} x {height} pixels; at most 25 million are read.",
            width=width,
            height=height,
        )
        raise PhotoRefused("too_many_pixels", says)
    if picture.format != "MPO" and getattr(picture, "n_frames", 1) != 1:
        raise PhotoRefused("animated", say("This is a moving picture: send a single photo."))
    try:
        with _metadata_ignored():
            picture.draft("L", (_WORKING_SIDE * 2, _WORKING_SIDE * 2))
            picture.load()
    except (OSError, ValueError, SyntaxError, EOFError, IndexError, MemoryError) as error:
        raise PhotoRefused("damaged", say("The photo is damaged: take it again.")) from error
    if min(width, height) < _LEAST_SIDE:
        raise PhotoRefused(
            "damaged",
            say("The photo has only {width} x {height} pixels.", width=width, height=height),
        )
    return picture


@contextmanager
def _metadata_ignored() -> Iterator[None]:
    """Spoilt metadata is worth no warning: none of it is used or kept."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        yield


def _header(data: bytes) -> Image.Image:
    try:
        with _metadata_ignored():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            return Image.open(io.BytesIO(data), formats=FORMATS)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        says = say(
            "The photo has far more pixels than a camera makes; at most 25 million are read."
        )
        raise PhotoRefused("too_many_pixels", says) from error
    except UnidentifiedImageError as error:
        says = say("This is no JPEG, PNG or WebP photo. A phone set to HEIC can send JPEG instead.")
        raise PhotoRefused("format", says) from error
    except (OSError, ValueError, SyntaxError, EOFError, IndexError) as error:
        raise PhotoRefused("damaged", say("The photo is damaged: take it again.")) from error


def _grey(picture: Image.Image) -> Image.Image:
    """Eight bits of grey; what is transparent counts as white, sixteen bits are scaled."""
    if picture.mode.startswith("I"):
        return picture.convert("I").point(lambda value: value / 256).convert("L")
    if "A" in picture.getbands() or "transparency" in picture.info:
        with_alpha = picture.convert("RGBA")
        ground = Image.new("RGBA", picture.size, "white")
        return Image.alpha_composite(ground, with_alpha).convert("L")
    return picture.convert("L")


def _forms(grey: Image.Image) -> Iterator[Image.Image]:
    """The picture as it is, then mended forms of it; in this order most are found soonest."""
    yield grey
    small = grey.copy()
    small.thumbnail((_WORKING_SIDE, _WORKING_SIDE))
    large = small
    if max(small.size) <= _LARGE_SIDE:
        large = small.resize((small.width * 2, small.height * 2), Image.Resampling.BICUBIC)
    for mend in (_soft, _stark, _even, _sharp):
        yield mend(large)
    for mend in (_opened, _closed, _median, _opened_then_closed):
        yield mend(small)


def _soft(picture: Image.Image) -> Image.Image:
    """Grain, fine scratches and ragged edges melt away."""
    return picture.filter(ImageFilter.GaussianBlur(3))


def _stark(picture: Image.Image) -> Image.Image:
    """Black or white only, after stretching what contrast there is."""
    return ImageOps.autocontrast(picture, cutoff=2).point(lambda value: 255 * (value > _MIDDLE))


def _sharp(picture: Image.Image) -> Image.Image:
    """Blur undone as far as that goes."""
    return picture.filter(ImageFilter.UnsharpMask(radius=4, percent=250, threshold=0))


def _even(picture: Image.Image) -> Image.Image:
    """Local contrast: what differs from its surroundings, so that shade and glare even out."""
    around = picture.filter(ImageFilter.BoxBlur(max(8, max(picture.size) // 40)))
    return ImageOps.autocontrast(ImageChops.subtract(picture, around, scale=0.5, offset=_MIDDLE))


def _opened(picture: Image.Image) -> Image.Image:
    """Dark specks and thin dark lines go: the lightest neighbour, then the darkest."""
    return picture.filter(ImageFilter.MaxFilter(3)).filter(ImageFilter.MinFilter(3))


def _closed(picture: Image.Image) -> Image.Image:
    """Light scratches close: the darkest neighbour, then the lightest."""
    return picture.filter(ImageFilter.MinFilter(3)).filter(ImageFilter.MaxFilter(3))


def _opened_then_closed(picture: Image.Image) -> Image.Image:
    return _closed(_opened(picture))


def _median(picture: Image.Image) -> Image.Image:
    """Single wrong pixels go."""
    return picture.filter(ImageFilter.MedianFilter(5))


def _hint(grey: Image.Image) -> str:
    """What to do better, from brightness, spread and sharpness; a guess, worded as one."""
    statistics = ImageStat.Stat(grey)
    mean, spread = statistics.mean[0], statistics.stddev[0]
    edged = ImageOps.crop(grey.filter(ImageFilter.FIND_EDGES), 2)  # its border is not filtered
    edges = ImageStat.Stat(edged).stddev[0]
    if mean < _DARK:
        return say("The photo is very dark: use more light.")
    if mean > _BRIGHT:
        return say("The photo is very bright: turn the tag out of the glare.")
    if spread < _FLAT:
        return say("The photo shows hardly any contrast: wipe the tag and hold the camera still.")
    if edges < _SOFT:
        return say("The photo looks blurred: hold still, a little further away.")
    return say("No symbol was read: let the tag fill a third of the photo, or type its code.")
