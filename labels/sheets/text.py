"""Fits words into a box: shrink, break at blanks, or end in an ellipsis; never cut a code."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from labels import fonts
from labels.fonts import Style  # noqa: TC001 - read at run time by the dataclass

Fit = Literal["shrink", "wrap", "clip", "remark"]

#: Distance of two baselines, and depth of tails below one, in letter sizes.
LEADING, TAIL = 1.22, 0.22
_STEP = 0.5
_WRAPPED, _SHORTENED = {"wrap", "remark"}, {"clip", "remark"}
_NO_BREAK = re.compile(r"(?<=[0-9]) (?=(?:%|bar|psi|mm|m|ft|L)(?![a-z]))")
_ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"


class DoesNotFit(ValueError):
    """Raised when a text is too long for its box; quotes the text and says what would fit."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """Lines and the size in points at which they fit."""

    lines: tuple[str, ...]
    size: float


@lru_cache(maxsize=4_096)
def fit(
    text: str, *, w: float, h: float, size: float, smallest: float, style: Style, mode: Fit
) -> Fitted:
    """Fit ``text`` into ``w`` x ``h`` millimetres between ``size`` and ``smallest`` points.

    Raises :class:`DoesNotFit`, or :class:`labels.fonts.GlyphMissing` for a letter no font has.
    """
    tried = size
    while tried >= smallest:
        room = _lines_in(h, style, tried)
        whole = mode not in _WRAPPED or _within(text, w, style, tried)
        lines = (text,) if whole else _break(text, w, style, tried)
        if lines and len(lines) <= room and all(_within(line, w, style, tried) for line in lines):
            return Fitted(lines, tried)
        tried -= _STEP
    room = _lines_in(h, style, smallest)
    if mode in _SHORTENED and room:
        lines = _break(text, w, style, smallest) if mode == "remark" else ()
        kept = lines[: room - 1]
        rest = " ".join(lines[room - 1 :]) or text
        return Fitted((*kept, _clip(rest, w, style, smallest)), smallest)
    raise DoesNotFit(
        f"{text[:80]!r} does not fit {w:g} x {h:g} mm at {smallest:g} points: shorten it"
    )


def _within(text: str, w: float, style: Style, size: float) -> bool:
    return fonts.width(text, style, size) <= w


def _lines_in(h: float, style: Style, size: float) -> int:
    """How many lines of that size stand in ``h`` millimetres, tails included."""
    first = fonts.cap_height(style, size) + TAIL * size * fonts.MM_PER_POINT
    if first > h:
        return 0
    return 1 + int((h - first) / (LEADING * size * fonts.MM_PER_POINT) + 1e-9)


def _break(text: str, w: float, style: Style, size: float) -> tuple[str, ...]:
    """Break at blanks, but not before a unit; a word wider than the box gives no lines at all."""
    lines = [""]
    for word in filter(None, _NO_BREAK.sub("\N{NO-BREAK SPACE}", text).split(" ")):
        if not _within(word, w, style, size):
            return ()
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if _within(longer, w, style, size):
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


def _clip(text: str, w: float, style: Style, size: float) -> str:
    kept = text
    while kept and not _within(kept.rstrip() + _ELLIPSIS, w, style, size):
        kept = kept[:-1]
    return kept.rstrip() + _ELLIPSIS
