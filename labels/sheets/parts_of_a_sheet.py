"""What several sheets share: the 62 mm width, the pair of symbols, headings and captioned lines.

Two symbols of one payload stand side by side, so that they lie round a cylinder: a stripe of glare
along the axis, a scratch or a blot then costs one of them and not both.
"""

from __future__ import annotations

from labels.sheets.boxes import (
    Box,
    CodeBox,
    FrameBox,
    KeepClear,
    RuleBox,
    SymbolBox,
    TextBox,
)

WIDTH = 62.0
#: A 62 mm roll prints 58 to 59 mm of its width (from memory); nothing stands outside this margin.
LEFT, RIGHT = 2.0, 60.0
INNER = RIGHT - LEFT
#: 37 modules with their quiet zone: 6 dots each at 203 dpi, 9 at 300, 18 at 600.
SYMBOL = 28.2
HOLE_DIAMETER = 8.0
#: Height of a captioned line, and of the hole with what it needs above and below.
LINE, HOLE_ROOM = 7.0, 14.0


def two_symbols(y: float, size: float = SYMBOL) -> tuple[Box, ...]:
    """The pair of symbols, their top at ``y``, apart from each other."""
    gap = (INNER - 2 * size) / 3
    return (
        SymbolBox(x=LEFT + gap, y=y, w=size, h=size),
        SymbolBox(x=RIGHT - gap - size, y=y, w=size, h=size),
    )


def code_line(y: float, size: float = 17, height: float = 7) -> CodeBox:
    """The code on one line across the label."""
    return CodeBox(x=LEFT, y=y, w=INNER, h=height, size=size, smallest=14)


def heading(
    text: str, y: float, *, size: float = 20, height: float = 10, beside: float = 2
) -> tuple[Box, ...]:
    """White words on a black bar across the label, ``beside`` millimetres free on both sides."""
    return (
        RuleBox(x=LEFT, y=y, w=INNER, h=height),
        TextBox(
            x=LEFT + beside,
            y=y,
            w=INNER - 2 * beside,
            h=height,
            text=text,
            size=size,
            style="bold",
            align="center",
            ink="white",
        ),
    )


def captioned(
    caption: str,
    field: str,
    longest: str,
    *,
    y: float,
    span: tuple[float, float] = (LEFT, INNER),
    caption_width: float = 13,
    size: float = 12,
) -> tuple[Box, ...]:
    """A small caption, its value, and a line below that a pen can use when there is no value.

    ``span`` is the left end and the width; the whole takes :data:`LINE` millimetres of height.
    """
    left, width = span
    return (
        TextBox(x=left, y=y + 0.9, w=caption_width, h=5, text=caption, size=8),
        TextBox(
            x=left + caption_width,
            y=y,
            w=width - caption_width,
            h=6.2,
            field=field,
            longest=longest,
            size=size,
            smallest=7,
            style="bold",
            fit="wrap",
        ),
        RuleBox(x=left, y=y + 6.3, w=width, h=0.15),
    )


def half(number: int) -> tuple[float, float]:
    """The left (0) or right (1) half of a line, as a span for :func:`captioned`."""
    width = (INNER - 3) / 2
    return LEFT + number * (width + 3), width


def hole(y: float = 3.5) -> tuple[Box, ...]:
    """The place of the tie's hole, ringed, kept free."""
    x = (WIDTH - HOLE_DIAMETER) / 2
    around = HOLE_DIAMETER + 1
    return (
        FrameBox(x=x - 0.5, y=y - 0.5, w=around, h=around, line=0.25, shape="circle"),
        KeepClear(x=x, y=y, w=HOLE_DIAMETER, h=HOLE_DIAMETER, why="hole for the tie"),
    )


def typed_at(y: float) -> TextBox:
    """The short address at which a person can type the code, for who has no reader."""
    return TextBox(
        x=LEFT,
        y=y,
        w=INNER,
        h=3.2,
        field="typed_at",
        longest="no reader? type it at WWW.EXAMPLE.ORG:8000/t",
        size=7,
        smallest=6,
        align="center",
    )
