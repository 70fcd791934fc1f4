r"""Fold what only looks different to one spelling, and remember where each character stood.

Folded, because the stamp is the same one to the eye: lower case, full-width letters, Unicode
dashes, slashes and quotes, odd blanks, the many five-point stars, the multiplication sign.
Dropped, and reported: characters that cannot be seen. Kept as they are, so that they end up as
unread: letters and digits of other scripts, superscripts, fractions, controls.

>>> normalise("tc\u20113alm\u00a0207").text
'TC-3ALM 207'
>>> normalise("x\u00b2").text
'X\xb2'
"""

import re
import unicodedata
from dataclasses import dataclass

#: text in which only letters need folding
PLAIN = re.compile(r"[\n -~]*")
_FULL_WIDTH = range(0xFF01, 0xFF5F)
_FULL_WIDTH_SHIFT = 0xFEE0
_ASCII_END = 0x80

#: cannot be seen: the text reads the same without them
INVISIBLE = frozenset("\u00ad\u180e\u200b\u200c\u200d\u2060\ufeff") | {
    chr(code) for code in range(0xFE00, 0xFE10)
}
#: change the order in which characters are shown, so what is seen is not what is stored
DIRECTION = frozenset("\u061c\u200e\u200f") | {
    chr(code) for code in (*range(0x202A, 0x202F), *range(0x2066, 0x206A))
}
#: combining strokes: the character before is shown struck out
STROKES = frozenset("\u0335\u0336\u0337\u0338\u20d2\u20d3\u20e5")

_FOLDED: dict[str, str] = {
    **dict.fromkeys("\r\v\f\x85\u2028\u2029", "\n"),
    "\t": " ",
    **dict.fromkeys("\u2212\u2043\u02d7\u23af\u2500", "-"),
    **dict.fromkeys("\u2044\u2215\u29f8", "/"),
    **dict.fromkeys("\u201c\u201d\u201e\u201f\u2033\u3003", '"'),
    **dict.fromkeys("\u2018\u2019\u201a\u201b\u2032", "'"),
    **dict.fromkeys("\u00d7\u2715\u2716\u2573\u2a2f", "X"),
    **dict.fromkeys("\u2795\ufb29", "+"),
    **dict.fromkeys("\u271a\u271d\u2020", "\u2020"),
    **dict.fromkeys("\u2605\u2606\u272a\u272f\u2730\u2729\u272b\u272c\u272d\u272e", "\u2605"),
    **dict.fromkeys("\u2b50\u2b51\u2b52\u22c6\u2217\u204e\u2731\U0001f31f\U0001f7ca", "\u2605"),
    **dict.fromkeys("\u25a1\u25a2\u25fb\u2b1c\u25af\u2610\u2502\u2503", " "),
}


@dataclass(frozen=True, slots=True)
class Clean:
    """The folded text; ``positions`` gives each character's place in the text as written.

    ``positions`` is ``None`` where both texts have the same length, which is the usual case.
    ``hidden`` says whether an invisible, a direction or a stroke character was met.
    """

    text: str
    positions: list[int] | None = None
    hidden: frozenset[str] = frozenset()

    def at(self, place: int) -> int:
        """Place in the text as written of ``place`` in the folded text."""
        return place if self.positions is None else self.positions[place]


def normalise(written: str) -> Clean:
    """Fold ``written``; takes time in proportion to its length and never fails."""
    if PLAIN.fullmatch(written):
        return Clean(written.upper())
    out: list[str] = []
    positions: list[int] = []
    hidden: set[str] = set()
    for place, char in enumerate(written):
        if char in INVISIBLE:
            hidden.add("invisible")
            continue
        if char == "\r" and written.startswith("\n", place + 1):
            continue
        if char in DIRECTION:
            hidden.add("direction")
        elif char in STROKES:
            hidden.add("stroke")
        out.append(_fold(char))
        positions.append(place)
    positions.append(len(written))
    return Clean("".join(out), positions, frozenset(hidden))


def _fold(char: str) -> str:
    """Return the one character that ``char`` stands for."""
    code = ord(char)
    if code < _ASCII_END:
        return _FOLDED.get(char, char).upper()
    if code in _FULL_WIDTH:
        return chr(code - _FULL_WIDTH_SHIFT).upper()
    folded = _FOLDED.get(char)
    if folded is not None:
        return folded
    category = unicodedata.category(char)
    if category == "Zs":
        return " "
    return "-" if category == "Pd" else char
