"""Draws labels as black and white dots, exactly the printer's own.

For roll printers. Every module of a symbol is the same whole number of dots, every edge lies on a
dot, so nothing is left for a driver to round. Letters are drawn one by one at the places that the
layout worked out, from a store of shapes, so the same label gives the same bytes each time.
"""

from __future__ import annotations

import io
from functools import lru_cache
from typing import TYPE_CHECKING

from PIL import Image, ImageDraw, ImageFont, PngImagePlugin

from labels import fonts, qr
from labels.fonts import MM_PER_POINT
from labels.sheets.boxes import RESOLUTIONS, dots, dots_per_module, extent
from labels.sheets.drawing import Bar, Item, Mark, Shape, Words, draw

if TYPE_CHECKING:
    from collections.abc import Iterable

    from labels.qr import Symbol
    from labels.sheets.boxes import Layout
    from labels.sheets.drawing import Content, Face
    from labels.sheets.media import Roll

_BLACK, _WHITE = 0, 255


def png(content: Content, *, dpi: int = 203, face: int = 0, roll: Roll | None = None) -> bytes:
    """One face of a label as a 1-bit PNG at the printer's resolution (203, 300 or 600 dpi).

    With a ``roll`` the picture is as wide (and long) as a piece of it. Raises ``ValueError`` for
    another resolution, ``MediumFault`` for a label larger than the roll, ``DoesNotFit`` or
    ``GlyphMissing`` for a text that cannot be printed whole.
    """
    return encode(image(content.faces()[face], dpi=dpi, roll=roll), dpi=dpi)


def encode(picture: Image.Image, *, dpi: int) -> bytes:
    """A picture as PNG bytes, its resolution noted inside."""
    out = io.BytesIO()
    exact = dots(25.4, dpi)
    picture.save(out, "PNG", dpi=(exact, exact), compress_level=6, pnginfo=PngImagePlugin.PngInfo())
    return out.getvalue()


def image(face: Face, *, dpi: int, roll: Roll | None = None) -> Image.Image:
    """One face as a 1-bit picture, white where it is set; raises as :func:`png` does."""
    if dpi not in RESOLUTIONS:
        raise ValueError(f"{dpi} dpi is no printer here; use one of {RESOLUTIONS}")
    drawing = draw(face)
    picture = _fixed(drawing.layout, drawing.fixed, dpi).copy()
    _paint(picture, drawing.varying, dpi)
    if roll is None:
        return picture
    length, left = roll.place(drawing.layout.width, drawing.layout.height)
    piece = Image.new("1", (dots(roll.width, dpi), dots(length, dpi)), _WHITE)
    piece.paste(picture, (dots(left, dpi), 0))
    return piece


@lru_cache(maxsize=64)
def _fixed(layout: Layout, items: tuple[Item, ...], dpi: int) -> Image.Image:
    """What every label of a layout shows alike, drawn once."""
    size = (dots(layout.width, dpi), dots(layout.height, dpi))
    picture = Image.new("1", size, _WHITE)
    _paint(picture, items, dpi)
    return picture


def _paint(picture: Image.Image, items: Iterable[Item], dpi: int) -> None:
    pen = ImageDraw.Draw(picture)
    for item in items:
        if isinstance(item, Words):
            _words(picture, item, dpi)
        elif isinstance(item, Mark):
            _mark(picture, item, dpi)
        elif isinstance(item, Bar):
            left, top = dots(item.x, dpi), dots(item.y, dpi)
            right = extent(item.x, item.w, dpi)
            bottom = extent(item.y, item.h, dpi)
            pen.rectangle((left, top, right - 1, bottom - 1), fill=_BLACK)
        else:
            points = [(dots(x, dpi), dots(y, dpi)) for x, y in item.points]
            pen.polygon(points, fill=_ink(item))


def _ink(item: Shape | Words) -> int:
    return _BLACK if item.ink == "black" else _WHITE


def _mark(picture: Image.Image, mark: Mark, dpi: int) -> None:
    """Modules of whole dots, the symbol in the middle of its box."""
    symbol = mark.symbol
    module = dots_per_module(mark.size, symbol.size + 2 * qr.QUIET_MODULES, dpi)
    spare = dots(mark.size, dpi) - module * symbol.size
    corner = (dots(mark.x, dpi) + spare // 2, dots(mark.y, dpi) + spare // 2)
    picture.paste(_modules(symbol, module), corner)


@lru_cache(maxsize=16)
def _modules(symbol: Symbol, module: int) -> Image.Image:
    pixels = b"".join(row.encode().translate(_LIGHT) for row in symbol.rows)
    small = Image.frombytes("L", (symbol.size, symbol.size), pixels).convert("1")
    side = symbol.size * module
    return small.resize((side, side), Image.Resampling.NEAREST)


_LIGHT = bytes.maketrans(b"01", b"\xff\x00")


def _words(picture: Image.Image, words: Words, dpi: int) -> None:
    scale = dots(25.4, dpi) / 25.4
    pixels = words.size * MM_PER_POINT * scale
    baseline = dots(words.y, dpi)
    widths = fonts.metrics(words.font).widths
    place = words.x * scale
    for letter in words.text:
        drawn = _letter(words.font, pixels, letter)
        if drawn is not None:
            shape, left, top = drawn
            picture.paste(_ink(words), (round(place) + left, baseline + top), shape)
        place += widths[ord(letter)] * pixels / 1_000


@lru_cache(maxsize=4_096)
def _letter(font: str, pixels: float, letter: str) -> tuple[Image.Image, int, int] | None:
    """A letter's dots and where they stand from the pen's place; None for a blank."""
    face = ImageFont.truetype(fonts.path_of(font), pixels, layout_engine=ImageFont.Layout.BASIC)
    left, top, right, bottom = face.getbbox(letter, mode="1", anchor="ls")
    if right <= left or bottom <= top:
        return None
    shape = Image.new("1", (round(right - left), round(bottom - top)), 0)
    ImageDraw.Draw(shape).text((-left, -top), letter, fill=255, font=face, anchor="ls")
    return shape, round(left), round(top)
