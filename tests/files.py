"""Photos and papers of the tests, good and bad, made here: no real one is needed."""

import io
import struct
import zlib
from pathlib import Path
from typing import Any

from django.conf import settings
from PIL import Image, ImageDraw
from pypdf import PdfWriter
from pypdf.generic import DictionaryObject, NameObject, TextStringObject
from reportlab.pdfgen.canvas import Canvas


def storages_in(folder: Path) -> dict[str, Any]:
    """The settings' storages, with the files in ``folder``."""
    place = {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": str(folder)},
    }
    return {**settings.STORAGES, "default": place}


def picture(text: str = "KX40417", size: tuple[int, int] = (400, 300)) -> Image.Image:
    """A picture with some light, some dark and some edges."""
    made = Image.linear_gradient("L").resize(size).convert("RGB")
    draw = ImageDraw.Draw(made)
    for step in range(0, max(size), 24):
        draw.line((step, 0, 0, step), fill=(200, 60, 20), width=6)
    draw.text((size[0] // 3, size[1] // 2), text, fill=(255, 255, 255), font_size=size[1] // 6)
    return made


def saved(made: Image.Image, form: str = "JPEG", **options: Any) -> bytes:
    """A picture as a file."""
    out = io.BytesIO()
    made.save(out, form, **options)
    return out.getvalue()


def photo(text: str = "KX40417", **options: Any) -> bytes:
    """A photo as a phone would send it."""
    return saved(picture(text), **options)


def paper(text: str = "The check of the day", pages: int = 1) -> bytes:
    """A PDF of some pages; the same text gives the same bytes."""
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1)
    for number in range(pages):
        canvas.drawString(72, 720, f"{text} {number}")
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def locked_paper() -> bytes:
    """A PDF with a password."""
    return _written(lambda writer: writer.encrypt("secret"))


def carrying_paper() -> bytes:
    """A PDF with a file in it."""
    return _written(lambda writer: writer.add_attachment("a.exe", b"MZ"))


def acting_paper(action: str, key: str) -> bytes:
    """A PDF that does something when it is opened: ``/JavaScript`` with ``/JS``, ``/Launch``."""

    def act(writer: PdfWriter) -> None:
        does = {NameObject("/S"): NameObject(action), NameObject(key): TextStringObject("x.exe")}
        writer.root_object[NameObject("/OpenAction")] = DictionaryObject(does)

    return _written(act)


def png_of(width: int, height: int, *chunks: tuple[bytes, bytes], rows: int | None = None) -> bytes:
    """A black PNG of one bit a pixel, with further chunks before its data, or fewer rows in it."""
    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    packer = zlib.compressobj(9)
    row = bytes(1 + (width + 7) // 8)
    body = (
        b"".join(packer.compress(row) for _ in range(height if rows is None else rows))
        + packer.flush()
    )
    parts = [(b"IHDR", header), *chunks, (b"IDAT", body), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, data) for name, data in parts)


def _chunk(name: bytes, data: bytes) -> bytes:
    check = struct.pack(">I", zlib.crc32(name + data))
    return struct.pack(">I", len(data)) + name + data + check


def _written(change: Any) -> bytes:
    writer = PdfWriter(clone_from=io.BytesIO(paper()))
    change(writer)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()
