"""The scanner test tag: scanned into the scan field it names a wrong keyboard layout."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from labels import codes, qr
from labels.sheets.boxes import Layout, TextBox
from labels.sheets.drawing import Face
from labels.sheets.parts_of_a_sheet import INNER, LEFT, WIDTH, heading, two_symbols

_TEXT = 40.0

LAYOUT = Layout(
    name="scanner test tag",
    width=WIDTH,
    height=_TEXT + 35,
    boxes=(
        *heading("SCANNER TEST", 1, size=18),
        *two_symbols(11.4),
        TextBox(
            x=LEFT,
            y=_TEXT,
            w=INNER,
            h=7,
            text=codes.SCANNER_TEST,
            size=16,
            align="center",
        ),
        TextBox(
            x=LEFT,
            y=_TEXT + 8.5,
            w=INNER,
            h=25,
            text="Scan this into the scan field of any bench page. The page says whether scanner "
            "and computer agree on the keyboard layout, and which one the computer has if not. "
            "This tag belongs to no cylinder.",
            size=9.5,
            fit="wrap",
        ),
    ),
)


@lru_cache(maxsize=1)
def test_symbol() -> qr.Symbol:
    """The symbol of the test text, of the same size as a tag's."""
    return qr.make(((codes.SCANNER_TEST, "alphanumeric"),))


@dataclass(frozen=True, slots=True)
class ScannerTest:
    """The test tag; it has no values."""

    def faces(self) -> tuple[Face, ...]:
        """One face."""
        return (Face(LAYOUT, {"symbol": test_symbol()}),)
