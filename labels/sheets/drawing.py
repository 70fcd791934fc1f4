"""A label ready to be drawn: plain shapes in millimetres, the same for every renderer.

:func:`draw` puts values into a layout. What does not depend on the values is worked out once for
each layout, so that a renderer can keep it (``Drawing.fixed``) and add the rest (``varying``).
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, Protocol

from labels import fonts
from labels.qr import Symbol
from labels.sheets import icons
from labels.sheets.boxes import (
    Box,
    CodeBox,
    FrameBox,
    IconBox,
    Layout,
    RuleBox,
    SymbolBox,
    TextBox,
    fit_code,
    fit_text,
)
from labels.sheets.text import LEADING, TAIL, Fitted

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from _typeshed import DataclassInstance

Ink = Literal["black", "white"]
Value = str | Symbol


@dataclass(frozen=True, slots=True)
class Bar:
    """A filled black rectangle."""

    x: float
    y: float
    w: float
    h: float


@dataclass(frozen=True, slots=True)
class Shape:
    """A filled polygon; points as (x, y)."""

    points: tuple[tuple[float, float], ...]
    ink: Ink


@dataclass(frozen=True, slots=True)
class Words:
    """Letters of one font; ``x`` is the left end, ``y`` the baseline, ``size`` in points."""

    x: float
    y: float
    size: float
    font: str
    text: str
    width: float
    ink: Ink


@dataclass(frozen=True, slots=True)
class Mark:
    """A symbol in a square of ``size`` millimetres, quiet zone included."""

    x: float
    y: float
    size: float
    symbol: Symbol


Item = Bar | Shape | Words | Mark


@dataclass(frozen=True, slots=True)
class Drawing:
    """One face of a label: its layout, what is always there and what this label adds."""

    layout: Layout
    fixed: tuple[Item, ...]
    varying: tuple[Item, ...]

    @property
    def items(self) -> tuple[Item, ...]:
        """Everything, in drawing order."""
        return self.fixed + self.varying


@dataclass(frozen=True, slots=True)
class Face:
    """One side of a label: a layout and the values for its fields."""

    layout: Layout
    values: Mapping[str, Value]


class Content(Protocol):
    """What can be printed: any sheet's dataclass."""

    def faces(self) -> tuple[Face, ...]:
        """The sides to print, front first."""
        ...


def values_of(content: DataclassInstance) -> dict[str, Value]:
    """The fields of a sheet by name, and ``typed_at``: where a person can type the code."""
    values: dict[str, Value] = {}
    for field in fields(content):
        value = getattr(content, field.name)
        if isinstance(value, str):
            values[field.name] = value
        elif isinstance(value, Symbol):
            values[field.name] = value
            host = value.url.split("/")[2].lower()
            values["typed_at"] = f"no reader? type it at {host}/t"
    return values


def draw(face: Face) -> Drawing:
    """Put the values into the layout.

    A field without a value (or with an empty text) leaves its place blank, for a pen. Raises
    ``DoesNotFit`` or ``GlyphMissing`` rather than print something cut off or unreadable.
    """
    varying = tuple(
        item for box in _varying(face.layout) for item in _items(box, _value(box, face.values))
    )
    return Drawing(face.layout, _fixed(face.layout), varying)


def _field(box: Box) -> str:
    if isinstance(box, FrameBox):
        return box.when
    return str(getattr(box, "field", ""))


def _value(box: Box, values: Mapping[str, Value]) -> Value:
    return values.get(_field(box), "")


@lru_cache(maxsize=256)
def _varying(layout: Layout) -> tuple[Box, ...]:
    return tuple(box for box in layout.boxes if _field(box))


@lru_cache(maxsize=256)
def _fixed(layout: Layout) -> tuple[Item, ...]:
    return tuple(item for box in layout.boxes if not _field(box) for item in _items(box, ""))


def _items(box: Box, value: Value) -> Iterator[Item]:
    if isinstance(box, SymbolBox) and isinstance(value, Symbol):
        yield Mark(box.x, box.y, box.w, value)
    elif isinstance(box, CodeBox) and isinstance(value, str) and value:
        yield from _code(box, value)
    elif isinstance(box, TextBox) and isinstance(value, str):
        if text := box.text or value:
            yield from _words(box, fit_text(box, text))
    elif isinstance(box, RuleBox):
        yield Bar(box.x, box.y, box.w, box.h)
    elif isinstance(box, FrameBox) and (value or not box.when):
        yield from _frame(box)
    elif isinstance(box, IconBox) and (name := box.icon or str(value)):
        for points, ink in icons.ICONS[name]:
            placed = tuple((box.x + x * box.w, box.y + y * box.h) for x, y in points)
            yield Shape(placed, ink)


def _frame(box: FrameBox) -> Iterator[Item]:
    line = box.line
    if box.shape == "circle":
        for inset, ink in ((0.0, "black"), (line, "white")):
            radius = box.w / 2 - inset
            centre = (box.x + box.w / 2, box.y + box.h / 2)
            yield Shape(icons.circle(centre, radius), "black" if ink == "black" else "white")
        return
    yield Bar(box.x, box.y, box.w, line)
    yield Bar(box.x, box.y + box.h - line, box.w, line)
    yield Bar(box.x, box.y, line, box.h)
    yield Bar(box.x + box.w - line, box.y, line, box.h)


def _code(box: CodeBox, code: str) -> Iterator[Item]:
    fitted = fit_code(box, code)
    for number, line in enumerate(fitted.lines):
        part = TextBox(
            x=box.x,
            y=box.y + number * box.line_height,
            w=box.w,
            h=box.line_height,
            size=fitted.size,
            align=box.align,
        )
        yield from _words(part, Fitted((line,), fitted.size))


def _words(box: TextBox, fitted: Fitted) -> Iterator[Item]:
    size = fitted.size
    capital = fonts.cap_height(box.style, size)
    leading = LEADING * size * fonts.MM_PER_POINT
    tail = TAIL * size * fonts.MM_PER_POINT
    block = capital + (len(fitted.lines) - 1) * leading
    # One line stands with its capitals in the middle of the box, unless its tails would leave it.
    top = min((box.h - block) / 2, box.h - block - tail) if block + tail <= box.h else 0.0
    top = max(top, 0.0)
    for number, line in enumerate(fitted.lines):
        baseline = box.y + top + capital + number * leading
        width = fonts.width(line, box.style, size)
        x = {
            "left": box.x,
            "center": box.x + (box.w - width) / 2,
            "right": box.x + box.w - width,
        }[box.align]
        for run in fonts.runs(line, box.style):
            wide = run.width * size * fonts.MM_PER_POINT / 1_000
            yield Words(x, baseline, size, run.font, run.text, wide, box.ink)
            x += wide
