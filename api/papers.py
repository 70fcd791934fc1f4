"""A lab's paper from outside: PDF, JPEG or PNG by its content, kept untouched as it is evidence.

It is never shown in a page, only handed out as a download. A PDF that is locked, runs a script,
starts a program or carries files of its own is refused: a test paper needs none of it.
"""

import io
import logging
import re
import warnings
from collections.abc import Iterable

from PIL import Image
from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject

from api import photos
from cylinders.operations.filing import Content
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

PDF, JPEG, PNG = "application/pdf", "image/jpeg", "image/png"
MEDIA_TYPES = (PDF, JPEG, PNG)
MOST_BYTES = 10 * 1024 * 1024
MOST_PAGES, _MOST_PARTS = 300, 20_000
#: A scanned page at 600 dots an inch has 35 million pixels; it is not decoded here.
_MOST_PIXELS = 80_000_000
#: names in a PDF that make it do something (ISO 32000-2, 7.11.4, 12.6.4, 13.7, annex K)
_ACTIVE = {
    "/JavaScript": say("it holds a script"),
    "/JS": say("it holds a script"),
    "/Launch": say("it starts a program"),
    "/EmbeddedFile": say("it carries another file"),
    "/EmbeddedFiles": say("it carries another file"),
    "/RichMedia": say("it carries a player"),
    "/XFA": say("it carries a form with scripts"),
}
# A spoilt file is answered with a sentence; what the parser thinks of it is no news for the log.
logging.getLogger("pypdf").setLevel(logging.CRITICAL)
_NAME = re.compile(rb"/[A-Za-z#][A-Za-z0-9#]{3,60}")
_ESCAPE = re.compile(rb"#([0-9A-Fa-f]{2})")


def judged(data: bytes) -> Content:
    """The paper as it may be kept: the very bytes, with the media type that was found in them.

    Raises :class:`Refused`: ``file_empty``, ``file_too_large``, ``file_type``, ``file_damaged``,
    ``file_active``, ``file_locked``.
    """
    if not data:
        raise Refused("file_empty", say("The file is empty."))
    if len(data) > MOST_BYTES:
        says = say("The file is larger than {limit} MB.", limit=MOST_BYTES // 1024**2)
        raise Refused("file_too_large", says)
    if data.startswith(b"%PDF-"):
        _check_pdf(data)
        return Content(data, PDF)
    try:
        kind = photos.kind_of(data)
    except Refused as refused:
        says = say("Send a PDF, a JPEG or a PNG; this is none of them.")
        raise Refused("file_type", says) from refused
    if kind == "WEBP":
        raise Refused("file_type", say("Send a PDF, a JPEG or a PNG; a WebP is none of them."))
    width, height = _size(data, kind)
    return Content(data, f"image/{kind.lower()}", width, height)


def _size(data: bytes, kind: str) -> tuple[int, int]:
    """Pixels of a picture, from its header; a PNG's check sums are taken, no pixel is decoded."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            picture = Image.open(io.BytesIO(data), formats=[kind])
            width, height = picture.size
            picture.verify()
    except Image.DecompressionBombError as bomb:
        raise Refused("file_too_large", say("It has far too many pixels.")) from bomb
    except photos.BROKEN as problem:
        raise _damaged() from problem
    if kind == "JPEG" and b"\xff\xd9" not in data[-1024:]:  # the mark that ends a picture
        raise _damaged()
    if not 0 < width * height <= _MOST_PIXELS:
        says = say("It has {width} x {height} pixels: too many.", width=width, height=height)
        raise Refused("file_too_large", says)
    return width, height


def _check_pdf(data: bytes) -> None:
    """Walk every part of a PDF, and its bytes too: a part that is in no list may still be read."""
    if b"%%EOF" not in data[-1024:]:  # cut on its way; the parser would make do with it
        raise _damaged()
    for name in _NAME.findall(data):
        _check_name(_ESCAPE.sub(lambda found: bytes([int(found[1], 16)]), name).decode("latin-1"))
    try:
        reader = PdfReader(io.BytesIO(data), strict=False)
        _check_name("/Encrypt" if reader.is_encrypted else "")
        _check_bounds(reader)
        for number, generation in _parts(reader):
            _check_part(reader.get_object(IndirectObject(number, generation, reader)))
    except Refused:
        raise
    except Exception as problem:  # whatever a hostile file makes a parser raise
        raise _damaged() from problem


def _parts(reader: PdfReader) -> Iterable[tuple[int, int]]:
    for generation, places in reader.xref.items():
        yield from ((number, generation) for number in places if number)
    yield from ((number, 0) for number in reader.xref_objStm)


def _check_bounds(reader: PdfReader) -> None:
    count = sum(len(places) for places in reader.xref.values()) + len(reader.xref_objStm)
    if count > _MOST_PARTS or len(reader.pages) > MOST_PAGES:
        says = say("The PDF is too long: {pages} pages at most.", pages=MOST_PAGES)
        raise Refused("file_too_large", says)


def _check_part(part: object) -> None:
    """Refuse a part that names something active, as a key or as a value."""
    if isinstance(part, DictionaryObject):
        for key, value in part.items():
            _check_name(str(key))
            if not isinstance(value, IndirectObject):
                _check_part(value)
    elif isinstance(part, ArrayObject):
        for value in part:
            if not isinstance(value, IndirectObject):
                _check_part(value)
    elif isinstance(part, str):
        _check_name(part)


def _check_name(name: str) -> None:
    if name == "/Encrypt":
        raise Refused("file_locked", say("The PDF is locked. Save it without a password."))
    why = _ACTIVE.get(name)
    if why:
        says = say("The PDF is refused: {why}. Print it to a new PDF and send that.", why=why)
        raise Refused("file_active", says)


def _damaged() -> Refused:
    return Refused("file_damaged", say("The file is damaged, or is not what it says it is."))
