"""The tie-on tag of a cylinder that is taken apart: a hole for the tie, two printed sides.

The front is for the bench, the reverse for a reader across the room: the code in the largest type
that fits.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from labels.sheets.boxes import CodeBox, Layout, TextBox
from labels.sheets.drawing import Face, values_of
from labels.sheets.parts_of_a_sheet import (
    HOLE_ROOM,
    INNER,
    LEFT,
    LINE,
    WIDTH,
    captioned,
    code_line,
    heading,
    hole,
    two_symbols,
    typed_at,
)

if TYPE_CHECKING:
    from labels.qr import Symbol

_LINES = 64.5
_HEIGHT = _LINES + 5 * LINE + 2

FRONT = Layout(
    name="teardown tag",
    width=WIDTH,
    height=_HEIGHT,
    boxes=(
        *hole(),
        *heading("TAKEN APART", HOLE_ROOM),
        *two_symbols(HOLE_ROOM + 11),
        code_line(HOLE_ROOM + 39.2),
        typed_at(HOLE_ROOM + 46.2),
        *captioned("Serial", "serial", "WM100W4567890WX", y=_LINES, size=14),
        *captioned("Spec", "specification", "DOT-3AL 3000 / TC-3ALM 207", y=_LINES + LINE),
        *captioned("Order", "order", "2026-004321", y=_LINES + 2 * LINE),
        *captioned("Date", "date", "2026-11-25", y=_LINES + 3 * LINE),
        *captioned("Parts off", "parts", "valve in bag, 10 in kit", y=_LINES + 4 * LINE),
    ),
)

REVERSE = Layout(
    name="teardown tag, reverse",
    width=WIDTH,
    height=_HEIGHT,
    boxes=(
        *hole(),
        CodeBox(x=LEFT, y=HOLE_ROOM + 1, w=INNER, h=55, size=48, smallest=38, stacked=True),
        TextBox(
            x=LEFT,
            y=HOLE_ROOM + 58,
            w=INNER,
            h=9,
            field="serial",
            longest="WM100W4567890WX",
            size=22,
            smallest=12,
            style="bold",
            align="center",
        ),
        *captioned(
            "Drained, proven empty by", "drained_by", "W.M.", y=_HEIGHT - 16, caption_width=36
        ),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TeardownTag:
    """The tag of a bare cylinder; texts as they shall be printed, or empty for a pen.

    ``drained_by`` holds initials; ``parts`` says in a few words what came off.
    """

    symbol: Symbol
    code: str
    serial: str = ""
    specification: str = ""
    order: str = ""
    date: str = ""
    parts: str = ""
    drained_by: str = ""

    def faces(self) -> tuple[Face, ...]:
        """Front and reverse."""
        values = values_of(self)
        return (Face(FRONT, values), Face(REVERSE, values))
