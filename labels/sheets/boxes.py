"""The vocabulary of a layout: boxes in millimetres, measured from the top left corner.

A layout is data. It is checked when it is loaded, so that a sheet that could print a symbol too
small, a text over a quiet zone or a letter that no font has never reaches a printer:

- every box lies inside the label, and no two boxes that print overlap (a frame may contain boxes);
- a symbol's box, quiet zone included, is at least 20 mm and at most 40 mm wide, and at every
  printer resolution its module is a whole number of dots, at least four of them;
- nothing is printed where the layout keeps clear;
- every text fits with its longest sample, in letters that the fonts have.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from labels import codes, qr
from labels.fonts import Style  # noqa: TC001 - read at run time by the dataclasses
from labels.sheets.text import Fit, Fitted, fit

#: Printer resolutions in dots per inch that a layout must suit.
RESOLUTIONS = (203, 300, 600)
SMALLEST_SYMBOL_MM, LARGEST_SYMBOL_MM = 20.0, 40.0
LEAST_DOTS = 4
_UNITS = 17 + 4 * qr.VERSION + 2 * qr.QUIET_MODULES
_TOLERANCE = 1e-6
_WIDEST_CODE = "W" * codes.LENGTH

Align = Literal["left", "center", "right"]
Ink = Literal["black", "white"]


class LayoutFault(ValueError):
    """Raised when a layout breaks one of its rules; names the sheet, the box and the rule."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A place on the label: left, top, width and height in millimetres."""

    x: float
    y: float
    w: float
    h: float

    @property
    def name(self) -> str:
        """How a fault report calls this box."""
        return f"{type(self).__name__} at {self.x:g},{self.y:g}"

    def overlaps(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return (
            self.x < other.x + other.w - _TOLERANCE
            and other.x < self.x + self.w - _TOLERANCE
            and self.y < other.y + other.h - _TOLERANCE
            and other.y < self.y + self.h - _TOLERANCE
        )

    def contains(self, other: Box) -> bool:
        """Whether the other lies wholly within this one."""
        return (
            self.x <= other.x + _TOLERANCE
            and self.y <= other.y + _TOLERANCE
            and other.x + other.w <= self.x + self.w + _TOLERANCE
            and other.y + other.h <= self.y + self.h + _TOLERANCE
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SymbolBox(Box):
    """A QR symbol, quiet zone included; ``field`` holds a :class:`labels.qr.Symbol`."""

    field: str = "symbol"


@dataclass(frozen=True, slots=True, kw_only=True)
class TextBox(Box):
    """Words: fixed ``text``, or the value of ``field`` with ``longest`` as its worst case.

    ``fit``: ``shrink`` reduces the size down to ``smallest``, ``wrap`` also breaks at blanks. Only
    free words, whose whole is kept elsewhere, may end in an ellipsis: ``clip`` is ``shrink``, and
    ``remark`` is ``wrap``, with that last resort. ``size`` and ``smallest`` are in points. White
    ink is for a text on a filled :class:`RuleBox`.
    """

    text: str = ""
    field: str = ""
    longest: str = ""
    size: float
    smallest: float = 0
    style: Style = "regular"
    align: Align = "left"
    fit: Fit = "shrink"
    ink: Ink = "black"

    @property
    def sample(self) -> str:
        """The text to try the box with."""
        return self.text or self.longest


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeBox(Box):
    """The code in its printed form, on one line or one group below the other (``stacked``)."""

    field: str = "code"
    size: float
    smallest: float
    stacked: bool = False
    align: Align = "center"

    def lines(self, shown: str) -> tuple[str, ...]:
        """The printed form broken as this box wants it."""
        return tuple(shown.split(" ")) if self.stacked else (shown,)

    @property
    def line_height(self) -> float:
        """Height in millimetres for each line."""
        return self.h / 3 if self.stacked else self.h


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleBox(Box):
    """A filled black bar: a line when it is thin, a heading's ground when it is tall."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameBox(Box):
    """An outline, square or round; may contain other boxes. ``when`` names a field it needs."""

    line: float = 0.3
    shape: Literal["square", "circle"] = "square"
    when: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class IconBox(Box):
    """A drawing of :mod:`labels.sheets.icons`, by fixed ``icon`` or by the value of ``field``."""

    icon: str = ""
    field: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepClear(Box):
    """Nothing may be printed here: a hole, a fold, a place for a stamp. ``why`` says which."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """One face of a label; checked on creation, raises :class:`LayoutFault`."""

    name: str
    width: float
    height: float
    boxes: tuple[Box, ...]

    def __post_init__(self) -> None:
        """Refuse a layout that breaks a rule at once."""
        whole = Box(x=0, y=0, w=self.width, h=self.height)
        for box in self.boxes:
            if not whole.contains(box):
                self._fault(box, f"leaves the label of {self.width:g} x {self.height:g} mm")
            self._check_one(box)
        for index, box in enumerate(self.boxes):
            for other in self.boxes[index + 1 :]:
                if box.overlaps(other) and not _may_share(box, other):
                    self._fault(box, f"overlaps {other.name}")

    def _fault(self, box: Box, rule: str) -> None:
        raise LayoutFault(f"layout {self.name}: {box.name} {rule}")

    def _check_one(self, box: Box) -> None:
        if isinstance(box, SymbolBox):
            if box.w != box.h or not SMALLEST_SYMBOL_MM <= box.w <= LARGEST_SYMBOL_MM:
                span = f"{SMALLEST_SYMBOL_MM:g} to {LARGEST_SYMBOL_MM:g} mm"
                self._fault(box, f"must be square, {span}")
            for dpi in RESOLUTIONS:
                if dots_per_module(box.w, _UNITS, dpi) < LEAST_DOTS:
                    self._fault(box, f"has modules under {LEAST_DOTS} dots at {dpi} dpi")
        elif isinstance(box, TextBox):
            if not box.sample:
                self._fault(box, "has no longest sample to be tried with")
            self._try(box, box.sample)
        elif isinstance(box, CodeBox):
            self._try(box, _WIDEST_CODE)

    def _try(self, box: TextBox | CodeBox, sample: str) -> None:
        try:
            fit_text(box, sample) if isinstance(box, TextBox) else fit_code(box, sample)
        except ValueError as error:
            raise LayoutFault(f"layout {self.name}: {box.name}: {error}") from error


def dots_per_module(size: float, units: int, dpi: int) -> int:
    """Whole printer dots to a module for ``units`` modules (quiet zone included) in ``size`` mm."""
    return int(dots(size, dpi) // units)


def dots(length: float, dpi: int) -> int:
    """Millimetres to the nearest printer dot; a "203 dpi" head has 8 dots to the millimetre."""
    return round(length * 8) if dpi == RESOLUTIONS[0] else round(length * dpi / 25.4)


def extent(start: float, length: float, dpi: int) -> int:
    """The dot after a bar's last; thin bars are all of one thickness, wherever they stand."""
    if length < 1:
        return dots(start, dpi) + max(dots(length, dpi), 1)
    return dots(start + length, dpi)


def _may_share(box: Box, other: Box) -> bool:
    for outer, inner in ((box, other), (other, box)):
        if isinstance(outer, FrameBox) and outer.contains(inner):
            return True
        if isinstance(outer, RuleBox) and isinstance(inner, TextBox | IconBox):
            return outer.contains(inner) and getattr(inner, "ink", "white") == "white"
    return False


def fit_text(box: TextBox, text: str) -> Fitted:
    """Fit a text into its box; raises ``DoesNotFit`` or ``GlyphMissing``."""
    smallest = box.smallest or box.size
    return fit(
        text,
        w=box.w,
        h=box.h,
        size=box.size,
        smallest=smallest,
        style=box.style,
        mode=box.fit,
    )


def fit_code(box: CodeBox, code: str) -> Fitted:
    """Fit the printed form of a code into its box, all lines at one size; raises alike."""
    lines = box.lines(codes.show(code))
    size = min(
        fit(
            line,
            w=box.w,
            h=box.line_height,
            size=box.size,
            smallest=box.smallest,
            style="regular",
            mode="shrink",
        ).size
        for line in lines
    )
    return Fitted(lines, size)
