"""Draws labels as PDF in vectors, every edge on a dot of a 600 dpi office printer.

Symbols are filled paths and never pictures: a picture is resampled by some print paths, and then
no reader knows it again. The modules of a row that touch are one rectangle, written straight into
the page's stream in whole modules, which is what makes a thousand labels a matter of a second and
a third of a kilobyte each. The file holds no date and no chance: the same labels give the same
bytes, so a reprint can be compared with the print.
"""

from __future__ import annotations

import io
from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from labels import fonts, qr
from labels.sheets.boxes import dots_per_module, extent
from labels.sheets.drawing import Bar, Drawing, Mark, Shape, Words, draw
from labels.sheets.media import CHECK_BAR_MM, Grid, MediumFault, Page, Roll, flow

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from labels.qr import Symbol
    from labels.sheets.drawing import Content

DPI = 600
_POINTS_PER_DOT = 72 / DPI
_DOTS_PER_MM = DPI / 25.4

# Streams go out as bytes; the library's default writes them as text, a quarter longer.
rl_config.useA85 = 0


def pdf(
    contents: Sequence[Content], medium: Roll | Page | Grid, *, start: int = 1, title: str = ""
) -> bytes:
    """All faces of all labels on a medium, as the bytes of one PDF.

    A roll gets a page for each face; a plain page or a grid gets rows of labels beginning at label
    ``start``, with a check bar on the first page. Raises ``MediumFault`` when a label is larger
    than its place, ``DoesNotFit`` or ``GlyphMissing`` when a text cannot be printed whole.
    """
    drawings = [draw(face) for content in contents for face in content.faces()]
    if not drawings:
        raise MediumFault("there is no label to print")
    sheet = _Sheet(title)
    if isinstance(medium, Roll):
        _on_roll(sheet, drawings, medium)
    else:
        _on_pages(sheet, drawings, medium, start)
    return sheet.finish()


def _on_roll(sheet: _Sheet, drawings: Iterable[Drawing], roll: Roll) -> None:
    for drawing in drawings:
        length, x = roll.place(drawing.layout.width, drawing.layout.height)
        sheet.begin(roll.width, length)
        sheet.place(drawing, x, 0)
        sheet.end()


def _on_pages(sheet: _Sheet, drawings: Sequence[Drawing], medium: Page | Grid, start: int) -> None:
    page = medium if isinstance(medium, Page) else medium.page
    sizes = [(drawing.layout.width, drawing.layout.height) for drawing in drawings]
    if set(sizes) == {(page.width, page.height)}:
        places: Iterable[tuple[int, float, float]] = ((n, 0, 0) for n in range(len(sizes)))
    elif isinstance(medium, Page):
        places = flow(medium, sizes, start)
    else:
        places = medium.centred(sizes, start)
    placed = zip(places, drawings, strict=True)
    for number, on_page in groupby(placed, key=lambda one: one[0][0]):
        sheet.begin(page.width, page.height)
        if number == 0 and (page.width, page.height) not in sizes:
            sheet.check_bar()
        for (_, x, y), drawing in on_page:
            sheet.place(drawing, x, y)
            if isinstance(medium, Page) and (page.width, page.height) not in sizes:
                sheet.cut_marks(x, y, drawing.layout.width, drawing.layout.height)
        sheet.end()


class _Sheet:
    """One PDF being written, in dots of 600 to the inch from the top left corner."""

    def __init__(self, title: str) -> None:
        self._out = io.BytesIO()
        self._canvas = Canvas(self._out, pageCompression=1, invariant=1)
        self._canvas.setTitle(title or "Labels")
        self._canvas.setCreator("cylinder service")
        self._height = 0
        self._forms: dict[tuple[int, int, int], str] = {}

    def begin(self, width: float, height: float) -> None:
        """Start a page; its size is a whole number of dots, so that both edges are exact."""
        self._height = _dots(height)
        size = (_dots(width) * _POINTS_PER_DOT, self._height * _POINTS_PER_DOT)
        self._canvas.setPageSize(size)
        self._canvas.addLiteral(f"{_POINTS_PER_DOT:g} 0 0 {_POINTS_PER_DOT:g} 0 0 cm")

    def end(self) -> None:
        """Finish the page."""
        self._canvas.showPage()

    def finish(self) -> bytes:
        """Finish the file."""
        self._canvas.save()
        return self._out.getvalue()

    def place(self, drawing: Drawing, x: float, y: float) -> None:
        """Draw a label with its corner at ``x``, ``y`` millimetres."""
        left, top = _dots(x), _dots(y)
        for item in drawing.items:
            if isinstance(item, Words):
                self._words(item, left, top)
            elif isinstance(item, Mark):
                self._mark(item, left, top)
            elif isinstance(item, Bar):
                self._bar(item, left, top)
            else:
                self._shape(item, left, top)

    def _bar(self, bar: Bar, left: int, top: int) -> None:
        x, y = left + _dots(bar.x), top + _dots(bar.y)
        w = left + extent(bar.x, bar.w, DPI) - x
        h = top + extent(bar.y, bar.h, DPI) - y
        self._canvas.addLiteral(f"{x} {self._height - y - h} {w} {h} re f")

    def _shape(self, shape: Shape, left: int, top: int) -> None:
        points = [f"{left + _dots(x)} {self._height - top - _dots(y)}" for x, y in shape.points]
        ink = 0 if shape.ink == "black" else 1
        path = " l ".join(points[1:])
        self._canvas.addLiteral(f"{ink} g {points[0]} m {path} l f 0 g")

    def _mark(self, mark: Mark, left: int, top: int) -> None:
        symbol = mark.symbol
        module = dots_per_module(mark.size, symbol.size + 2 * qr.QUIET_MODULES, DPI)
        spare = (_dots(mark.size) - module * symbol.size) // 2
        x = left + _dots(mark.x) + spare
        y = self._height - top - _dots(mark.y) - spare - module * symbol.size
        self._canvas.addLiteral(f"q {module} 0 0 {module} {x} {y} cm\n{_path(symbol)}\nf Q")

    def _words(self, words: Words, left: int, top: int) -> None:
        canvas = self._canvas
        if words.ink == "white":
            canvas.setFillGray(1)
        canvas.setFont(_font(words.font), words.size / _POINTS_PER_DOT)
        canvas.drawString(
            left + words.x * _DOTS_PER_MM, self._height - top - words.y * _DOTS_PER_MM, words.text
        )
        if words.ink == "white":
            canvas.setFillGray(0)

    def cut_marks(self, x: float, y: float, w: float, h: float) -> None:
        """Short lines at the corners of a label, outside it, for the knife."""
        for corner_x, away_x in ((x, -1), (x + w, 1)):
            for corner_y, away_y in ((y, -1), (y + h, 1)):
                self._bar(Bar(min(corner_x, corner_x + away_x * 1.5), corner_y, 1.5, 0.1), 0, 0)
                self._bar(Bar(corner_x, min(corner_y, corner_y + away_y * 1.5), 0.1, 1.5), 0, 0)

    def check_bar(self) -> None:
        """A bar to lay a ruler on."""
        self._bar(Bar(20, 5, CHECK_BAR_MM, 0.25), 0, 0)
        for x in (20.0, 20 + CHECK_BAR_MM / 2, 20 + CHECK_BAR_MM):
            self._bar(Bar(x - 0.125, 4, 0.25, 2.25), 0, 0)
        says = f"This bar is {CHECK_BAR_MM:g} mm when printed at 100 %. Do not fit to page."
        size = 8.0
        for run in fonts.runs(says, "regular"):
            self._words(
                Words(20 + CHECK_BAR_MM + 4, 6.2, size, run.font, run.text, 0, "black"), 0, 0
            )


def _dots(length: float) -> int:
    return round(length * _DOTS_PER_MM)


@lru_cache(maxsize=64)
def _path(symbol: Symbol) -> str:
    """The dark runs as rectangles in whole modules, the origin at the lower left."""
    last = symbol.size - 1
    return "\n".join(f"{column} {last - row} {length} 1 re" for row, column, length in symbol.runs)


@lru_cache(maxsize=32)
def _font(name: str) -> str:
    registered = f"labels-{name}"
    pdfmetrics.registerFont(TTFont(registered, str(fonts.path_of(name))))
    return registered
