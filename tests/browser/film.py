"""What the browser's camera sees: printed tags held before a wall, as a film of JPEG frames."""

import io
from pathlib import Path

import segno
from PIL import Image, ImageFilter

from labels import render_raster
from labels.content import content_of
from labels.models import Tag

_SIZE = (1280, 720)
_MIDDLE = 800  # px across that a phone held upright shows
_WALL = (118, 112, 104)


def printed(tag: Tag) -> Image.Image:
    """A tag as the label printer makes it."""
    data = render_raster.png(content_of(tag), dpi=203)
    return Image.open(io.BytesIO(data)).convert("RGB")


def symbol(text: str) -> Image.Image:
    """A QR symbol of any text, as somebody else might print it."""
    out = io.BytesIO()
    segno.make_qr(text, error="q").save(out, kind="png", scale=8)
    return Image.open(out).convert("RGB")


def frame(*things: Image.Image) -> bytes:
    """One frame: the things side by side, a little turned and out of focus, on a dull wall."""
    wall = Image.new("RGB", _SIZE, _WALL)
    width = _MIDDLE // max(1, len(things))
    for place, thing in enumerate(things):
        held = thing.copy()
        held.thumbnail((width - 20, _SIZE[1] - 160))
        held = held.rotate(4, expand=True, fillcolor=_WALL, resample=Image.Resampling.BICUBIC)
        left = (_SIZE[0] - _MIDDLE) // 2 + place * width + (width - held.width) // 2
        corner = (left, (_SIZE[1] - held.height) // 2)
        wall.paste(held, corner)
    out = io.BytesIO()
    wall.filter(ImageFilter.GaussianBlur(1)).save(out, "JPEG", quality=80)
    return out.getvalue()


def show(film: Path, *scenes: tuple[bytes, int]) -> None:
    """Write a film that repeats: each scene is a frame and how often it is shown."""
    film.write_bytes(b"".join(picture * times for picture, times in scenes))
