"""The durable tag of a cylinder: 62 x 62 mm round the body, never over what the law put there.

Minted blank it has room for a pen; bound, it names specification and serial. It names no person
and no place but the shop that a finder may call.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from labels.sheets.boxes import Layout, TextBox
from labels.sheets.drawing import Face, values_of
from labels.sheets.parts_of_a_sheet import (
    INNER,
    LEFT,
    WIDTH,
    captioned,
    code_line,
    two_symbols,
    typed_at,
)

if TYPE_CHECKING:
    from labels.qr import Symbol

LAYOUT = Layout(
    name="cylinder tag",
    width=WIDTH,
    height=62,
    boxes=(
        *two_symbols(0.8),
        code_line(29.2),
        typed_at(36.2),
        *captioned("Spec", "specification", "DOT-3AL 3000 / TC-3ALM 207", y=39.8),
        *captioned("Serial", "serial", "WM100W4567890WX", y=46.6),
        TextBox(
            x=LEFT,
            y=53.8,
            w=INNER,
            h=3.6,
            field="shop",
            longest="Example Harbour Dive Centre, 555-0100",
            size=8.5,
            smallest=6.5,
            align="center",
            fit="clip",
        ),
        TextBox(
            x=LEFT,
            y=57.8,
            w=INNER,
            h=3,
            text="Never over stamped marks, hazard label or inspection sticker",
            size=6,
            align="center",
        ),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CylinderTag:
    """A cylinder's tag; ``code`` compact, the other texts as they shall be printed, or empty.

    ``shop`` is the shop's name and number for a finder, never a customer's.
    """

    symbol: Symbol
    code: str
    specification: str = ""
    serial: str = ""
    shop: str = ""

    def faces(self) -> tuple[Face, ...]:
        """One face."""
        return (Face(LAYOUT, values_of(self)),)
