"""The contents label: what gas is in the cylinder, as analysed, and how deep it may be used."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from labels.sheets.boxes import CodeBox, Layout, RuleBox, SymbolBox, TextBox
from labels.sheets.drawing import Face, values_of
from labels.sheets.parts_of_a_sheet import INNER, LEFT, LINE, RIGHT, WIDTH, captioned, half

if TYPE_CHECKING:
    from labels.qr import Symbol

_SYMBOL = 20.0
_FACTS = 43.0
_SECOND = _FACTS + LINE
_SYMBOLS = _SECOND + LINE + 1

LAYOUT = Layout(
    name="contents label",
    width=WIDTH,
    height=_SYMBOLS + _SYMBOL + 1,
    boxes=(
        RuleBox(x=LEFT, y=1, w=INNER, h=12),
        TextBox(
            x=LEFT + 2,
            y=1,
            w=INNER - 4,
            h=12,
            field="gas",
            longest="TRIMIX 18/45",
            size=26,
            smallest=14,
            style="bold",
            align="center",
            ink="white",
        ),
        TextBox(x=LEFT, y=14, w=18, h=3.4, text="analysed", size=8),
        TextBox(
            x=LEFT,
            y=17.5,
            w=INNER,
            h=10,
            field="analysis",
            longest="O2 18.2 %  He 45.1 %",
            size=27,
            smallest=15,
            style="bold",
            align="center",
        ),
        RuleBox(x=LEFT, y=28.6, w=INNER, h=0.15),
        TextBox(x=LEFT, y=29.4, w=40, h=3.5, text="maximum operating depth", size=8),
        TextBox(
            x=LEFT,
            y=33,
            w=32,
            h=9,
            field="mod",
            longest="100 m / 328 ft",
            size=22,
            smallest=12,
            style="bold",
        ),
        TextBox(
            x=LEFT + 33,
            y=33,
            w=INNER - 33,
            h=9,
            field="at_ppo2",
            longest="at pO2 1.40 bar",
            size=13,
            smallest=8,
            align="right",
        ),
        RuleBox(x=LEFT, y=42.6, w=INNER, h=0.15),
        *captioned("Filled to", "pressure", "232 bar / 3365 psi", y=_FACTS, span=(LEFT, INNER)),
        *captioned(
            "Date", "date", "2026-11-25", y=_FACTS + LINE, span=half(0), caption_width=8, size=10.5
        ),
        *captioned(
            "By", "initials", "W.M.W.", y=_FACTS + LINE, span=half(1), caption_width=6, size=10.5
        ),
        SymbolBox(x=LEFT, y=_SYMBOLS, w=_SYMBOL, h=_SYMBOL),
        SymbolBox(x=RIGHT - _SYMBOL, y=_SYMBOLS, w=_SYMBOL, h=_SYMBOL),
        CodeBox(
            x=LEFT + _SYMBOL,
            y=_SYMBOLS + 1,
            w=INNER - 2 * _SYMBOL,
            h=_SYMBOL - 2,
            size=14,
            smallest=11,
            stacked=True,
        ),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ContentsLabel:
    """A fill; every text as it shall be printed, rounding already done on the safe side.

    ``gas`` "NITROX 32", ``analysis`` "O2 31.8 %" (with "He ..." where there is any), ``mod``
    "34 m / 111 ft", ``at_ppo2`` "at pO2 1.40 bar", ``pressure`` "207 bar / 3000 psi".
    """

    symbol: Symbol
    code: str
    gas: str
    analysis: str
    mod: str
    at_ppo2: str
    pressure: str
    date: str
    initials: str

    def faces(self) -> tuple[Face, ...]:
        """One face."""
        return (Face(LAYOUT, values_of(self)),)
