"""The tag on the bag of a valve: which cylinder it came off, its thread, and whether it is clean.

The oxygen-clean flag is told by a word and by a shape (a ring with a tick, an eight-sided stop, a
triangle), never by a colour: tags are black and white, and so is the light in some workshops.
Unknown has its own word and shape and is never shown as clean.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from labels.sheets.boxes import Box, FrameBox, IconBox, Layout, RuleBox, TextBox
from labels.sheets.drawing import Face, values_of
from labels.sheets.parts_of_a_sheet import (
    INNER,
    LEFT,
    LINE,
    WIDTH,
    captioned,
    code_line,
    heading,
    two_symbols,
    typed_at,
)

if TYPE_CHECKING:
    from labels.qr import Symbol

Oxygen = Literal["clean", "not_clean", "unknown"]

_PANEL, _PANEL_HEIGHT = 12.0, 15.0
_SYMBOLS = _PANEL + _PANEL_HEIGHT + 0.8
_LINES = _SYMBOLS + 39.2
_WORDS: dict[Oxygen, tuple[str, str]] = {
    "clean": ("OXYGEN CLEAN", "Keep sealed. Clean hands, clean tools."),
    "not_clean": ("NOT OXYGEN CLEAN", "Keep apart from oxygen-clean parts."),
    "unknown": ("NOT KNOWN", "Oxygen clean? Treat as not clean."),
}


def _panel(flag: Oxygen) -> tuple[Box, ...]:
    ground: Box = FrameBox(x=LEFT, y=_PANEL, w=INNER, h=_PANEL_HEIGHT, line=0.5)
    if flag == "not_clean":
        ground = RuleBox(x=LEFT, y=_PANEL, w=INNER, h=_PANEL_HEIGHT)
    says, then = _WORDS[flag]
    return (
        ground,
        IconBox(x=LEFT + 1.5, y=_PANEL + 1.5, w=12, h=12, icon=flag),
        TextBox(
            x=LEFT + 15,
            y=_PANEL + 1.5,
            w=INNER - 16.5,
            h=7,
            text=says,
            size=17,
            smallest=9,
            style="bold",
            ink="white" if flag == "not_clean" else "black",
        ),
        TextBox(
            x=LEFT + 15,
            y=_PANEL + 9,
            w=INNER - 16.5,
            h=4.5,
            text=then,
            size=8,
            smallest=6,
            ink="white" if flag == "not_clean" else "black",
        ),
    )


LAYOUTS: dict[Oxygen, Layout] = {
    flag: Layout(
        name=f"valve bag, {flag.replace('_', ' ')}",
        width=WIDTH,
        height=_LINES + 4 * LINE + 1.5,
        boxes=(
            *heading("VALVE", 1),
            *_panel(flag),
            *two_symbols(_SYMBOLS),
            code_line(_SYMBOLS + 28.2),
            typed_at(_SYMBOLS + 35.2),
            *captioned("Cylinder", "cylinder", "WM100W4567890WX", y=_LINES, size=14),
            *captioned("Thread", "thread", "0.750-14 NGS (NGT)", y=_LINES + LINE),
            *captioned("Outlet", "outlet", "DIN G 5/8, 300 bar", y=_LINES + 2 * LINE),
            *captioned("Valve no.", "serial", "WM100W456789", y=_LINES + 3 * LINE),
        ),
    )
    for flag in _WORDS
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ValveBag:
    """The bag of one valve; ``cylinder`` is the serial of the cylinder that it came off."""

    symbol: Symbol
    code: str
    cylinder: str = ""
    thread: str = ""
    outlet: str = ""
    serial: str = ""
    oxygen: Oxygen = "unknown"

    def faces(self) -> tuple[Face, ...]:
        """One face, its panel by the oxygen-clean flag."""
        return (Face(LAYOUTS[self.oxygen], values_of(self)),)
