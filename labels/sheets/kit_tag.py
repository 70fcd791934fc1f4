"""The tag of a kit: the parts other than the valve, each with a box to tick off and back on.

The label is as long as its list. A list longer than one label goes on over further labels of the
same code, each of which says which of how many it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from labels.sheets.boxes import Box, FrameBox, Layout, RuleBox, TextBox
from labels.sheets.drawing import Face, values_of
from labels.sheets.parts_of_a_sheet import (
    INNER,
    LEFT,
    LINE,
    RIGHT,
    WIDTH,
    captioned,
    code_line,
    heading,
    two_symbols,
    typed_at,
)

if TYPE_CHECKING:
    from labels.qr import Symbol

MOST_ROWS = 10
_SYMBOLS = 11.8
_SERIAL = _SYMBOLS + 39.2
_CAPTIONS = _SERIAL + LINE + 0.5
_LIST = _CAPTIONS + 4.2
_ROW = 6.4
_TICK = 4.4
_OFF, _ON = LEFT + 0.6, LEFT + 7.6


def _row(number: int) -> tuple[Box, ...]:
    top = _LIST + number * _ROW
    field = f"part_{number}"
    return (
        FrameBox(x=_OFF, y=top + 0.8, w=_TICK, h=_TICK, line=0.35),
        FrameBox(x=_ON, y=top + 0.8, w=_TICK, h=_TICK, line=0.35),
        TextBox(
            x=LEFT + 14.5,
            y=top,
            w=INNER - 14.5,
            h=6,
            field=field,
            longest="Stage rigging, upper clamp, lower band",
            size=12,
            smallest=7,
            fit="clip",
        ),
        RuleBox(x=LEFT + 14.5, y=top + 6.15, w=INNER - 14.5, h=0.15),
    )


def _layout(rows: int) -> Layout:
    return Layout(
        name=f"kit tag of {rows}",
        width=WIDTH,
        height=_LIST + rows * _ROW + 1.5,
        boxes=(
            *heading("KIT", 1, beside=18),
            TextBox(
                x=RIGHT - 17,
                y=1,
                w=15,
                h=10,
                field="part_of",
                longest="10 of 10",
                size=11,
                align="right",
                ink="white",
            ),
            *two_symbols(_SYMBOLS),
            code_line(_SYMBOLS + 28.2),
            typed_at(_SYMBOLS + 35.2),
            *captioned("Cylinder", "cylinder", "WM100W4567890WX", y=_SERIAL, size=14),
            TextBox(x=_OFF - 0.3, y=_CAPTIONS, w=5, h=3.6, text="off", size=8, align="center"),
            TextBox(x=_ON - 0.3, y=_CAPTIONS, w=5, h=3.6, text="on", size=8, align="center"),
            TextBox(x=LEFT + 14.5, y=_CAPTIONS, w=30, h=3.6, text="part", size=8),
            *(box for number in range(rows) for box in _row(number)),
        ),
    )


LAYOUTS = {rows: _layout(rows) for rows in range(1, MOST_ROWS + 1)}


@dataclass(frozen=True, slots=True, kw_only=True)
class KitTag:
    """The kit of one cylinder; ``parts`` in words, in the order in which they came off."""

    symbol: Symbol
    code: str
    cylinder: str = ""
    parts: tuple[str, ...] = ()

    def faces(self) -> tuple[Face, ...]:
        """One face for every ten parts; an empty list gives one face with rows for a pen."""
        if not self.parts:
            return (self._face((), LAYOUTS[MOST_ROWS], ""),)
        starts = range(0, len(self.parts), MOST_ROWS)
        count = len(starts)
        return tuple(
            self._face(
                chunk := self.parts[start : start + MOST_ROWS],
                LAYOUTS[len(chunk)],
                f"{number} of {count}" if count > 1 else "",
            )
            for number, start in enumerate(starts, start=1)
        )

    def _face(self, parts: tuple[str, ...], layout: Layout, part_of: str) -> Face:
        rows = {f"part_{number}": part for number, part in enumerate(parts)}
        return Face(
            layout,
            {**values_of(self), "part_of": part_of, **rows},
        )
