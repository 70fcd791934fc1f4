"""What labels are printed on: rolls, plain pages to be cut, and pages of ready-cut labels.

A plain page takes as many labels of one size as fit, with corner marks for the knife. A page of
ready-cut labels is described by its grid. Both can start at label N, so that a half-used page is
used up; the first page bears a bar of 50 mm, because a page that the print dialogue "fits" to the
paper shrinks every module.

>>> [corner for corner in flow(A4, [(62, 60)] * 4)][-1]
(0, 8.0, 76.0)
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

CHECK_BAR_MM = 50.0
_GAP = 4.0
_TOLERANCE = 1e-6


class MediumFault(ValueError):
    """Raised for a medium that cannot be: a grid off the page, or a label that does not fit."""


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll; ``length`` is that of one ready-cut label, or None where the printer cuts."""

    name: str
    width: float
    length: float | None = None

    def place(self, width: float, height: float) -> tuple[float, float]:
        """Length of the piece for a label, and the label's left end; raises MediumFault."""
        length = self.length or height
        if width > self.width + _TOLERANCE or height > length + _TOLERANCE:
            raise MediumFault(f"a label of {width:g} x {height:g} mm does not fit {self.name}")
        return length, (self.width - width) / 2


@dataclass(frozen=True, slots=True)
class Page:
    """A page of plain paper, and what is left free at its sides, top and foot."""

    name: str
    width: float
    height: float
    side: float = 7.0
    top: float = 12.0
    foot: float = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Labels on a page: how many, the first one's corner, the step, the size of each.

    Raises :class:`MediumFault` when they overlap or leave the page.

    ``offset_x`` and ``offset_y`` move everything: the calibration of one printer. All in mm.
    """

    page: Page
    columns: int
    rows: int
    x0: float
    y0: float
    dx: float
    dy: float
    width: float
    height: float
    offset_x: float = 0.0
    offset_y: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a grid that leaves the page or whose labels overlap at once."""
        left, top = self.x0 + self.offset_x, self.y0 + self.offset_y
        right = left + (self.columns - 1) * self.dx + self.width
        bottom = top + (self.rows - 1) * self.dy + self.height
        if self.columns < 1 or self.rows < 1:
            raise MediumFault(f"{self.page.name}: a grid needs a column and a row")
        if min(left, top) < 0 or (
            right > self.page.width + _TOLERANCE or bottom > self.page.height + _TOLERANCE
        ):
            raise MediumFault(
                f"labels from {left:g}, {top:g} to {right:g}, {bottom:g} mm leave the "
                f"{self.page.name} page of {self.page.width:g} x {self.page.height:g} mm"
            )
        if (self.columns > 1 and self.dx < self.width - _TOLERANCE) or (
            self.rows > 1 and self.dy < self.height - _TOLERANCE
        ):
            raise MediumFault(f"{self.page.name}: the labels of the grid overlap")

    def moved(self, x: float, y: float) -> Grid:
        """The same grid with a printer's calibration; raises :class:`MediumFault`."""
        return replace(self, offset_x=x, offset_y=y)

    @property
    def count(self) -> int:
        """Labels on one page."""
        return self.columns * self.rows

    def places(self, number: int, start: int = 1) -> Iterator[tuple[int, float, float]]:
        """Page number and corner for each of ``number`` labels, beginning at label ``start``."""
        if not 1 <= start <= self.count:
            raise MediumFault(f"label {start} is not on {self.page.name}: it has {self.count}")
        for place in range(start - 1, start - 1 + number):
            page, on_page = divmod(place, self.count)
            row, column = divmod(on_page, self.columns)
            yield (
                page,
                self.x0 + self.offset_x + column * self.dx,
                self.y0 + self.offset_y + row * self.dy,
            )

    def centred(
        self, sizes: Sequence[tuple[float, float]], start: int = 1
    ) -> Iterator[tuple[int, float, float]]:
        """As :meth:`places`, each label in the middle of its place; raises MediumFault."""
        for (page, x, y), (width, height) in zip(
            self.places(len(sizes), start), sizes, strict=True
        ):
            if width > self.width + _TOLERANCE or height > self.height + _TOLERANCE:
                raise MediumFault(
                    f"a label of {width:g} x {height:g} mm does not fit the {self.width:g} x "
                    f"{self.height:g} mm of this {self.page.name} page"
                )
            yield page, x + (self.width - width) / 2, y + (self.height - height) / 2


def flow(
    page: Page, sizes: Sequence[tuple[float, float]], start: int = 1
) -> Iterator[tuple[int, float, float]]:
    """Page number and corner for each label on plain pages, in rows from the top.

    ``start`` leaves the places of as many labels of the first one's size free, less one. Raises
    :class:`MediumFault` for a label larger than the page's printed part.
    """
    if not sizes:
        return
    wide = max(width for width, _ in sizes)
    across, bottom = page.width - 2 * page.side, page.height - page.foot
    columns = int((across + _GAP + _TOLERANCE) // (wide + _GAP))
    if columns < 1 or max(height for _, height in sizes) > bottom - page.top + _TOLERANCE:
        raise MediumFault(f"a label of {wide:g} mm width does not fit {page.name}")
    left = (page.width - columns * wide - (columns - 1) * _GAP) / 2
    number, column, y, row_height = 0, 0, page.top, 0.0
    for index, (_, height) in enumerate([sizes[0]] * (start - 1) + list(sizes)):
        if column == columns:
            column, y, row_height = 0, y + row_height + _GAP, 0.0
        if y + height > bottom + _TOLERANCE:
            number, column, y, row_height = number + 1, 0, page.top, 0.0
        if index >= start - 1:
            yield number, left + column * (wide + _GAP), y
        row_height = max(row_height, height)
        column += 1


ROLL_62 = Roll("62mm", 62.0)
ROLL_4X6 = Roll("4x6", 101.6, 152.4)
A4 = Page("a4", 210.0, 297.0)
LETTER = Page("letter", 215.9, 279.4)

MEDIA: dict[str, Roll | Page] = {medium.name: medium for medium in (ROLL_62, ROLL_4X6, A4, LETTER)}

#: Ready-cut pages in common use (sizes from memory: measure a page before a long run).
READY_CUT: dict[str, Grid] = {
    "a4-8": Grid(
        page=A4,
        columns=2,
        rows=4,
        x0=4.7,
        y0=12.9,
        dx=101.6,
        dy=67.8,
        width=99.1,
        height=67.8,
    ),
    "letter-6": Grid(
        page=LETTER,
        columns=2,
        rows=3,
        x0=4.0,
        y0=12.7,
        dx=106.3,
        dy=84.7,
        width=101.6,
        height=84.7,
    ),
}
