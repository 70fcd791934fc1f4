"""A log of tests on sheets of A4 across: every field of the regulation, nothing cut off."""

import io
from collections.abc import Iterator, Sequence
from functools import lru_cache

from reportlab.lib.pagesizes import A4, landscape
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from cylinders.queries.test_log import RULE, Row
from labels import fonts
from labels.fonts import Style

_PAGE = landscape(A4)
_LEFT, _TOP, _BOTTOM = 10 * mm, _PAGE[1] - 24 * mm, 14 * mm
_SIZE, _LINE, _PAD = 6.5, 2.9 * mm, 1.2 * mm
#: heading, width in millimetres, and the fields that stand under it, a line each
_COLUMNS: tuple[tuple[str, float, tuple[str, ...]], ...] = (
    ("Date", 17, ("date_of_requalification", "what")),
    ("Serial, maker", 23, ("serial_number", "manufacturer_name_or_symbol")),
    ("Specification", 20, ("specification_or_permit", "marked_pressure")),
    ("Dimensions; owner's mark", 25, ("actual_dimensions", "owner_name_or_symbol")),
    ("Visual; method", 28, ("visual_inspection_result", "method")),
    ("Test pressure", 17, ("actual_test_pressure",)),
    ("Total", 15, ("total_expansion",)),
    ("Elastic", 15, ("elastic_expansion",)),
    ("Permanent; %", 17, ("permanent_expansion", "percent_permanent_expansion")),
    ("Disposition; judged here", 21, ("disposition", "judged_as", "state")),
    (
        "Reason; earlier test; wall stress",
        34,
        (
            *("reason_for_repeat_rejection_or_condemnation", "date_of_earlier_test"),
            *("wall_stress_method", "notes"),
        ),
    ),
    (
        "Operator; number; record; check",
        45,
        ("test_operator", "rin", "lab_reference", "daily_check"),
    ),
)


def paper(title: str, rows: Sequence[Row]) -> bytes:
    """The sheets as PDF; the same log gives the same bytes."""
    pages = list(_pages(rows))
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=_PAGE, invariant=True)
    canvas.setTitle(title)
    for number, blocks in enumerate(pages, start=1):
        _head(canvas, title, f"{RULE} · sheet {number} of {len(pages)}")
        y = _TOP
        for block in blocks:
            y = _draw(canvas, block, y)
        if not rows:
            _write(canvas, _LEFT, _TOP - _LINE, "No test was recorded.", "regular", 9)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


Block = list[list[str]]


def _pages(rows: Sequence[Row]) -> Iterator[list[Block]]:
    """The rows as blocks of wrapped lines, so many to a sheet as fit; one sheet at the least."""
    page: list[Block] = []
    left = _TOP - _BOTTOM
    for row in rows:
        block = [_cell(row, width, names) for _heading, width, names in _COLUMNS]
        height = _height(block)
        if page and height > left:
            yield page
            page, left = [], _TOP - _BOTTOM
        page.append(block)
        left -= height
    yield page


def _height(block: Block) -> float:
    return max(1, *(len(lines) for lines in block)) * _LINE + _PAD


def _cell(row: Row, width: float, names: Sequence[str]) -> list[str]:
    room = (width - 1.5) * mm
    return [
        line for name in names if row.get(name) for line in _wrapped(_printable(row[name]), room)
    ]


def _wrapped(text: str, room: float) -> Iterator[str]:
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and _width(longer) > room:
            yield line
            line = word
        else:
            line = longer
        while _width(line) > room and len(line) > 1:  # one word that is wider than its column
            fits = max(n for n in range(1, len(line)) if n == 1 or _width(line[:n]) <= room)
            yield line[:fits]
            line = line[fits:]
    if line:
        yield line


def _printable(text: str) -> str:
    """The text; a letter that no font at hand has is given by its number, never left out."""
    try:
        fonts.runs(text, "regular")
    except fonts.GlyphMissing:
        return "".join(_letter(letter) for letter in text)
    return text


def _letter(letter: str) -> str:
    try:
        fonts.runs(letter, "regular")
    except fonts.GlyphMissing:
        return f"[U+{ord(letter):04X}]"
    return letter


def _width(text: str) -> float:
    return sum(run.width for run in fonts.runs(text, "regular")) * _SIZE / 1000


def _head(canvas: Canvas, title: str, foot: str) -> None:
    _write(canvas, _LEFT, _PAGE[1] - 12 * mm, _printable(title), "bold", 12)
    _write(canvas, _LEFT, 8 * mm, foot, "regular", 7)
    x = _LEFT
    for heading, width, _names in _COLUMNS:
        room = (width - 1.5) * mm
        for place, line in enumerate(_wrapped(heading, room * 0.92)):
            _write(canvas, x, _PAGE[1] - 17 * mm - place * _LINE, line, "bold", _SIZE)
        x += width * mm
    canvas.line(_LEFT, _TOP, _PAGE[0] - _LEFT, _TOP)


def _draw(canvas: Canvas, block: Block, y: float) -> float:
    x = _LEFT
    for lines, (_heading, width, _names) in zip(block, _COLUMNS, strict=True):
        for place, line in enumerate(lines):
            _write(canvas, x, y - (place + 1) * _LINE, line, "regular", _SIZE)
        x += width * mm
    below = y - _height(block)
    canvas.setLineWidth(0.3)
    canvas.line(_LEFT, below, _PAGE[0] - _LEFT, below)
    return below


def _write(canvas: Canvas, x: float, y: float, text: str, style: Style, size: float) -> None:
    for run in fonts.runs(text, style):
        canvas.setFont(_font(run.font), size)
        canvas.drawString(x, y, run.text)
        x += run.width * size / 1000


@lru_cache(maxsize=8)
def _font(name: str) -> str:
    registered = f"log-{name}"
    pdfmetrics.registerFont(TTFont(registered, str(fonts.path_of(name))))
    return registered
