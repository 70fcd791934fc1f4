"""The consignment manifest: what goes to the laboratory and comes back, one symbol a line.

A page of A4 or Letter holds a fixed number of lines; longer lists go on. Every page has both
signatures, so that a page that is lost is noticed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from labels.sheets.boxes import Box, CodeBox, FrameBox, Layout, RuleBox, SymbolBox, TextBox
from labels.sheets.drawing import Face, Value
from labels.sheets.media import A4, LETTER, Page

if TYPE_CHECKING:
    from labels.fonts import Style
    from labels.qr import Symbol

_LEFT = 12.0
_TOP, _FOOT, _ROW = 52.0, 47.0, 23.0
_SYMBOL = 22.0


def _text(
    field: str,
    longest: str,
    place: tuple[float, float, float, float],
    size: float = 11,
    style: Style = "regular",
) -> TextBox:
    """A value of a row; only the services, whose whole is in the order, may be shortened."""
    x, y, w, h = place
    return TextBox(
        x=x,
        y=y,
        w=w,
        h=h,
        field=field,
        longest=longest,
        size=size,
        smallest=7,
        style=style,
        fit="remark" if field.startswith("services") else "wrap",
    )


def _row(number: int, top: float, right: float) -> tuple[Box, ...]:
    middle, ticks = _LEFT + 32, right - 30
    code_width = 60.0
    rest = middle + code_width + 2

    return (
        _text(f"number_{number}", "999", (_LEFT, top + 7, 9, 8), size=12),
        SymbolBox(x=_LEFT + 9, y=top + 0.5, w=_SYMBOL, h=_SYMBOL, field=f"symbol_{number}"),
        CodeBox(
            x=middle,
            y=top + 2,
            w=code_width,
            h=8,
            size=15,
            smallest=14,
            align="left",
            field=f"code_{number}",
        ),
        _text(
            f"specification_{number}",
            "DOT-3AL 3000 / TC-3ALM 207",
            (middle, top + 12, code_width, 8),
        ),
        _text(
            f"serial_{number}",
            "WM100W4567890W",
            (rest, top + 2, ticks - rest, 8),
            size=13,
            style="bold",
        ),
        _text(
            f"services_{number}",
            "water jacket, visual, eddy current, threads",
            (rest, top + 12, ticks - rest, 8),
            size=9,
        ),
        FrameBox(x=ticks + 3, y=top + 7, w=8, h=8, line=0.4, when=f"code_{number}"),
        FrameBox(x=ticks + 18, y=top + 7, w=8, h=8, line=0.4, when=f"code_{number}"),
        RuleBox(x=_LEFT, y=top + _ROW - 0.3, w=right - _LEFT, h=0.15),
    )


def _line(
    caption: str, field: str, longest: str, place: tuple[float, float, float]
) -> tuple[Box, ...]:
    """A captioned value of the head: left end, top and width."""
    x, y, width = place
    return (
        TextBox(x=x, y=y + 0.8, w=16, h=5, text=caption, size=9),
        TextBox(
            x=x + 16,
            y=y,
            w=width - 16,
            h=6.5,
            field=field,
            longest=longest,
            size=12,
            smallest=7,
            style="bold",
            fit="clip",
        ),
        RuleBox(x=x, y=y + 6.5, w=width, h=0.15),
    )


def _head(right: float) -> tuple[Box, ...]:
    half = (right - _LEFT) / 2
    wide, other = half - 4, _LEFT + half + 4

    return (
        TextBox(x=_LEFT, y=12, w=110, h=10, text="Consignment manifest", size=22, style="bold"),
        TextBox(
            x=right - 70,
            y=12,
            w=70,
            h=10,
            field="page",
            longest="page 10 of 10",
            size=12,
            align="right",
        ),
        *_line("Number", "number", "2026-000042", (_LEFT, 25, wide)),
        *_line("Date", "date", "2026-11-25", (other, 25, wide)),
        *_line("From", "sender", "Example Harbour Dive Centre", (_LEFT, 33.5, wide)),
        *_line("To", "receiver", "Northgate Example Testing, Z999", (other, 33.5, wide)),
        TextBox(
            x=_LEFT,
            y=_TOP - 8,
            w=60,
            h=4.5,
            field="count",
            longest="999 cylinders in all",
            size=9,
        ),
        TextBox(x=right - 30, y=_TOP - 8, w=14, h=4.5, text="out", size=9, align="center"),
        TextBox(x=right - 15, y=_TOP - 8, w=14, h=4.5, text="back", size=9, align="center"),
        RuleBox(x=_LEFT, y=_TOP - 2.5, w=right - _LEFT, h=0.5),
    )


def _signatures(top: float, right: float) -> tuple[Box, ...]:
    half = (right - _LEFT) / 2
    boxes: list[Box] = []
    for column, title in enumerate(("Out: to the laboratory", "Back: to the shop")):
        x = _LEFT + column * (half + 4)
        boxes.append(TextBox(x=x, y=top, w=half - 4, h=6, text=title, size=12, style="bold"))
        for row, caption in enumerate(("Handed over", "Received", "Date, time")):
            y = top + 8 + row * 8.5
            boxes.append(TextBox(x=x, y=y, w=22, h=6, text=caption, size=9))
            boxes.append(RuleBox(x=x + 22, y=y + 6, w=half - 26, h=0.15))
    return tuple(boxes)


def _layout(page: Page) -> Layout:
    right = page.width - _LEFT
    rows = rows_on(page)
    return Layout(
        name=f"manifest on {page.name}",
        width=page.width,
        height=page.height,
        boxes=(
            *_head(right),
            *(box for row in range(rows) for box in _row(row, _TOP + row * _ROW, right)),
            *_signatures(page.height - _FOOT + 4, right),
        ),
    )


def rows_on(page: Page) -> int:
    """Lines that a page holds."""
    return int((page.height - _TOP - _FOOT) // _ROW)


LAYOUTS = {page.name: _layout(page) for page in (A4, LETTER)}


@dataclass(frozen=True, slots=True, kw_only=True)
class ManifestLine:
    """One cylinder of a consignment; ``services`` in words, as asked of the laboratory."""

    symbol: Symbol
    code: str
    serial: str = ""
    specification: str = ""
    services: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """A consignment; ``receiver`` names the laboratory and its number (RIN)."""

    number: str
    date: str
    sender: str
    receiver: str
    lines: tuple[ManifestLine, ...]
    page: Page = A4

    def faces(self) -> tuple[Face, ...]:
        """One face for each page; raises ``ValueError`` when there is nothing on the list."""
        if not self.lines:
            raise ValueError("a manifest without a cylinder is not printed")
        rows = rows_on(self.page)
        starts = range(0, len(self.lines), rows)
        return tuple(
            self._page(start, f"page {number} of {len(starts)}")
            for number, start in enumerate(starts, start=1)
        )

    def _page(self, start: int, page: str) -> Face:
        values: dict[str, Value] = {
            "number": self.number,
            "date": self.date,
            "sender": self.sender,
            "receiver": self.receiver,
            "page": page,
            "count": f"{len(self.lines)} cylinder{'s'[: len(self.lines) != 1]} in all",
        }
        for row, line in enumerate(self.lines[start : start + rows_on(self.page)]):
            values |= {
                f"number_{row}": str(start + row + 1),
                f"symbol_{row}": line.symbol,
                f"code_{row}": line.code,
                f"serial_{row}": line.serial,
                f"specification_{row}": line.specification,
                f"services_{row}": line.services,
            }
        return Face(LAYOUTS[self.page.name], values)
