"""The tag of a condemned cylinder: what it is must be read before anything else on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from labels.sheets.boxes import IconBox, Layout, RuleBox, TextBox
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

_WARNING = HOLE_ROOM + 14
_SYMBOLS = _WARNING + 12.5
_LINES = _SYMBOLS + 39.2
_REASON = _LINES + 2 * LINE

LAYOUT = Layout(
    name="condemned tag",
    width=WIDTH,
    height=_REASON + 15 + LINE + 1.5,
    boxes=(
        *hole(),
        *heading("CONDEMNED", HOLE_ROOM, size=23, height=13),
        IconBox(x=LEFT, y=_WARNING, w=11, h=11, icon="stop"),
        TextBox(
            x=LEFT + 12,
            y=_WARNING,
            w=INNER - 12,
            h=11,
            text="DO NOT FILL",
            size=20,
            style="bold",
            align="center",
        ),
        *two_symbols(_SYMBOLS),
        code_line(_SYMBOLS + 28.2),
        typed_at(_SYMBOLS + 35.2),
        *captioned("Serial", "serial", "WM100W4567890WX", y=_LINES, size=14),
        *captioned("Spec", "specification", "DOT-3AL 3000 / TC-3ALM 207", y=_LINES + LINE),
        TextBox(x=LEFT, y=_REASON + 0.9, w=12, h=5, text="Reason", size=8),
        TextBox(
            x=LEFT + 13,
            y=_REASON + 1,
            w=INNER - 13,
            h=13.5,
            field="reason",
            longest="Permanent expansion 10.4 % of total, over the limit of 10 %, in the third run",
            size=11,
            smallest=7.5,
            style="bold",
            fit="remark",
        ),
        RuleBox(x=LEFT, y=_REASON + 14.7, w=INNER, h=0.15),
        *captioned("Date, by", "date_and_by", "2026-11-25  Z999  W.M.", y=_REASON + 15),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CondemnedTag:
    """A condemned cylinder; ``date_and_by`` holds the day and initials or a laboratory's number."""

    symbol: Symbol
    code: str
    serial: str = ""
    specification: str = ""
    reason: str = ""
    date_and_by: str = ""

    def faces(self) -> tuple[Face, ...]:
        """One face."""
        return (Face(LAYOUT, values_of(self)),)
