"""Draws labels as PDF in vectors, every edge on a dot of a 600 dpi office printer.

Symbols are filled paths and never pictures: a picture is resampled by some print paths, and then
no reader knows it again. The modules of a row that touch are one rectangle, written straight into
the page's stream in whole modules; the modules that are dark in every symbol of a file (the finder
squares, the host's name) are written once for all. That is what makes a thousand tags a matter of
a second and a third of a kilobyte each. The file holds no date and no chance: the same labels give
the same bytes, so a reprint can be compared with the print.
"""

from __future__ import annotations

import io
import re
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
    from collections.abc import Iterable, Iterator, Sequence

    from labels.qr import Symbol
    from labels.sheets.boxes import Layout
    from labels.sheets.drawing import Content, Item

DPI = 600
_POINTS_PER_DOT = 72 / DPI
_DOTS_PER_MM = DPI / 25.4
_CUT_MM = 1.5
_DARK = re.compile("1+")

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
    sheet = _Sheet(title, drawings)
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
            cut = isinstance(medium, Page) and (page.width, page.height) not in sizes
            sheet.place(drawing, x, y, cut=cut)
        sheet.end()


class _Sheet:
    """One PDF being written, in dots of 600 to the inch.

    What all labels of a layout share is kept once in the file, as a form. Every label is drawn
    from its own lower left corner, so that equal things are written in equal words and pack well.
    """

    def __init__(self, title: str, drawings: Sequence[Drawing]) -> None:
        self._out = io.BytesIO()
        self._canvas = Canvas(self._out, pageCompression=1, invariant=1)
        self._canvas.setTitle(title or "Labels")
        self._canvas.setCreator("cylinder service")
        self._height = 0
        self._forms: dict[tuple[Layout, bool], str] = {}
        self._shared = _shared_modules(drawings)
        for size, rows in self._shared.items():
            self._canvas.beginForm(f"shared{size}", 0, 0, size, size)
            self._canvas.addLiteral(f"{_path(rows)} f")
            self._canvas.endForm()

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

    def place(self, drawing: Drawing, x: float, y: float, *, cut: bool = False) -> None:
        """Draw a label with its upper left corner at ``x``, ``y`` millimetres on the page."""
        form = self._form(drawing, cut=cut)
        bottom = self._height - _dots(y) - _dots(drawing.layout.height)
        self._canvas.addLiteral(f"q 1 0 0 1 {_dots(x)} {bottom} cm")
        self._canvas.doForm(form)
        self._paint(drawing.varying, _dots(drawing.layout.height))
        self._canvas.addLiteral("Q")

    def check_bar(self) -> None:
        """A bar to lay a ruler on."""
        says = f"This bar is {CHECK_BAR_MM:g} mm when printed at 100 %. Do not fit to page."
        ends = (20.0, 20 + CHECK_BAR_MM / 2, 20 + CHECK_BAR_MM)
        self._paint(
            (
                Bar(20, 5, CHECK_BAR_MM, 0.25),
                *(Bar(x - 0.125, 4, 0.25, 2.25) for x in ends),
                Words(24 + CHECK_BAR_MM, 6.2, 8, "regular", says, 0, "black"),
            ),
            self._height,
        )

    def _form(self, drawing: Drawing, *, cut: bool) -> str:
        key = (drawing.layout, cut)
        if key not in self._forms:
            name = self._forms[key] = f"label{len(self._forms)}"
            width, height = _dots(drawing.layout.width), _dots(drawing.layout.height)
            around = _dots(_CUT_MM) + 1
            self._canvas.beginForm(name, -around, -around, width + around, height + around)
            self._paint(drawing.fixed, height)
            if cut:
                self._paint(_cut_marks(drawing.layout), height)
            self._canvas.endForm()
        return self._forms[key]

    def _paint(self, items: Iterable[Item], height: int) -> None:
        """Draw items in a box ``height`` dots high whose lower left corner is the origin."""
        for kind, same in groupby(items, key=_kind):
            if kind == "words":
                self._words([item for item in same if isinstance(item, Words)], height)
                continue
            for item in same:
                if isinstance(item, Mark):
                    self._mark(item, height)
                elif isinstance(item, Bar):
                    self._canvas.addLiteral(_bar(item, height))
                elif isinstance(item, Shape):
                    self._canvas.addLiteral(_shape(item, height))

    def _words(self, listed: Sequence[Words], height: int) -> None:
        for ink, same in groupby(listed, key=lambda words: words.ink):
            if ink == "white":
                self._canvas.setFillGray(1)
            pen = self._canvas.beginText()
            for words in same:
                pen.setTextOrigin(_dots(words.x), height - _dots(words.y))
                pen.setFont(_font(words.font), words.size / _POINTS_PER_DOT, 0)
                pen.textOut(words.text)
            self._canvas.drawText(pen)
            if ink == "white":
                self._canvas.setFillGray(0)

    def _mark(self, mark: Mark, height: int) -> None:
        symbol = mark.symbol
        module = dots_per_module(mark.size, symbol.size + 2 * qr.QUIET_MODULES, DPI)
        spare = (_dots(mark.size) - module * symbol.size) // 2
        x = _dots(mark.x) + spare
        y = height - _dots(mark.y) - spare - module * symbol.size
        self._canvas.addLiteral(f"q {module} 0 0 {module} {x} {y} cm")
        self._canvas.doForm(f"shared{symbol.size}")
        if path := _rest(symbol, self._shared[symbol.size]):
            self._canvas.addLiteral(f"{path} f")
        self._canvas.addLiteral("Q")


def _kind(item: Item) -> str:
    return "words" if isinstance(item, Words) else "shapes"


def _bar(bar: Bar, height: int) -> str:
    x, y = _dots(bar.x), _dots(bar.y)
    w, h = extent(bar.x, bar.w, DPI) - x, extent(bar.y, bar.h, DPI) - y
    return f"{x} {height - y - h} {w} {h} re f"


def _shape(shape: Shape, height: int) -> str:
    points = [f"{_dots(x)} {height - _dots(y)}" for x, y in shape.points]
    path = " l ".join(points[1:])
    return f"{0 if shape.ink == 'black' else 1} g {points[0]} m {path} l f 0 g"


def _cut_marks(layout: Layout) -> Iterator[Bar]:
    """Short lines at the corners of a label, outside it, for the knife."""
    for x, outwards in ((0.0, -_CUT_MM), (layout.width, 0.0)):
        for y in (0.0, layout.height):
            yield Bar(x + outwards, y, _CUT_MM, 0.1)
    for x in (0.0, layout.width):
        for y, outwards in ((0.0, -_CUT_MM), (layout.height, 0.0)):
            yield Bar(x, y + outwards, 0.1, _CUT_MM)


def _dots(length: float) -> int:
    return round(length * _DOTS_PER_MM)


def _shared_modules(drawings: Iterable[Drawing]) -> dict[int, tuple[int, ...]]:
    """By size, the modules that are dark in every symbol of the file; a row is a binary number."""
    shared: dict[int, tuple[int, ...]] = {}
    for drawing in drawings:
        for item in drawing.varying:
            if isinstance(item, Mark):
                rows = _numbers(item.symbol)
                before = shared.get(item.symbol.size, rows)
                shared[item.symbol.size] = tuple(
                    one & other for one, other in zip(before, rows, strict=True)
                )
    return shared


@lru_cache(maxsize=64)
def _numbers(symbol: Symbol) -> tuple[int, ...]:
    return tuple(int(row, 2) for row in symbol.rows)


@lru_cache(maxsize=64)
def _rest(symbol: Symbol, shared: tuple[int, ...]) -> str:
    """The path of the modules that this symbol has beyond the shared ones."""
    return _path(tuple(own & ~common for own, common in zip(_numbers(symbol), shared, strict=True)))


def _path(rows: tuple[int, ...]) -> str:
    """The dark runs as rectangles in whole modules, the origin at the lower left."""
    size = len(rows)
    return "\n".join(
        f"{run.start()} {size - 1 - number} {run.end() - run.start()} 1 re"
        for number, row in enumerate(rows)
        for run in _DARK.finditer(f"{row:0{size}b}")
    )


@lru_cache(maxsize=32)
def _font(name: str) -> str:
    registered = f"labels-{name}"
    pdfmetrics.registerFont(TTFont(registered, str(fonts.path_of(name))))
    return registered
