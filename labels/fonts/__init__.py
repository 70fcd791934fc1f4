"""The letters on labels: open fonts kept with the code, and how wide a text is in them.

Atkinson Hyperlegible (Braille Institute, SIL Open Font License 1.1) was the easiest to tell apart
of those compared when printed small and blurred. Letters that it lacks (Greek, Cyrillic,
Vietnamese) come from Noto Sans (same licence, here the regular instance without layout tables).
The choice is made letter by letter; a letter that no font has is refused and never printed as an
empty box. Further fonts can be added with :func:`add`. Scripts whose letters join, stack or run
from the right need a shaping engine; without one they are refused too.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from pathlib import Path
from typing import Literal

from cylinders.rules.wording import say
from labels.fonts.truetype import FontError, Metrics, read

_HERE = Path(__file__).resolve().parent
MM_PER_POINT = 25.4 / 72

Style = Literal["regular", "bold"]

_PATHS: dict[str, Path] = {
    "regular": _HERE / "AtkinsonHyperlegible-Regular.ttf",
    "bold": _HERE / "AtkinsonHyperlegible-Bold.ttf",
    "noto": _HERE / "NotoSans-Regular.ttf",
}
#: Scripts that need more than one letter after another: they would print wrongly, so they do not.
_RIGHT_TO_LEFT, _MARKS = {"R", "AL", "RLE", "RLO", "RLI"}, {"Mn", "Mc", "Me"}
_FALLBACKS: list[str] = ["noto"]


class GlyphMissing(ValueError):
    """Raised when no font at hand has a letter; names the letter and the text it stands in."""


@dataclass(frozen=True, slots=True)
class Run:
    """Letters of one text that one font draws; ``width`` in 1/1000 of the letter size."""

    font: str
    text: str
    width: float


def path_of(font: str) -> Path:
    """The file of a font by its short name (``regular``, ``bold``, ``noto``, or one added)."""
    return _PATHS[font]


@lru_cache(maxsize=32)
def metrics(font: str) -> Metrics:
    """Widths and heights of a font by its short name; raises :class:`FontError`."""
    return read(_PATHS[font])


def add(path: Path) -> str:
    """Add a font file as the last fallback and return its short name; raises ``FontError``.

    Meant for start-up: a shop that writes names in another script names a font of its own.
    """
    read(path)
    name = path.stem
    _PATHS[name] = path
    if name not in _FALLBACKS:
        _FALLBACKS.append(name)
    runs.cache_clear()
    metrics.cache_clear()
    return name


@lru_cache(maxsize=16_384)
def runs(text: str, style: Style) -> tuple[Run, ...]:
    """Split ``text`` (made NFC) into runs of one font each; raises :class:`GlyphMissing`."""
    chain = (style, *_FALLBACKS)

    def font_for(letter: str) -> str:
        if unicodedata.bidirectional(letter) in _RIGHT_TO_LEFT or (
            unicodedata.category(letter) in _MARKS
        ):
            raise GlyphMissing(
                say(
                    "{text!a} cannot be printed: U+{ord:04X} belongs to a script whose letters "
                    "join or run from the right; write the name in another script",
                    text=text[:60],
                    ord=ord(letter),
                )
            )
        for font in chain:
            if ord(letter) in metrics(font).widths:
                return font
        name = unicodedata.name(letter, "a letter without a name")
        raise GlyphMissing(
            say(
                "{text!a} cannot be printed: no font here has U+{ord:04X} ({name})",
                text=text[:60],
                ord=ord(letter),
                name=name,
            )
        )

    found = []
    for font, letters in groupby(unicodedata.normalize("NFC", text), font_for):
        part = "".join(letters)
        widths = metrics(font).widths
        found.append(Run(font, part, sum(widths[ord(letter)] for letter in part)))
    return tuple(found)


def width(text: str, style: Style, size: float) -> float:
    """Width of ``text`` in millimetres at ``size`` points; raises :class:`GlyphMissing`."""
    return sum(run.width for run in runs(text, style)) * size * MM_PER_POINT / 1_000


def cap_height(style: Style, size: float) -> float:
    """Height of capitals in millimetres at ``size`` points."""
    return metrics(style).cap_height * size * MM_PER_POINT / 1_000


def descent(style: Style, size: float) -> float:
    """Depth of the longest tails below the baseline in millimetres at ``size`` points."""
    return metrics(style).descent * size * MM_PER_POINT / 1_000


__all__ = [
    "MM_PER_POINT",
    "FontError",
    "GlyphMissing",
    "Metrics",
    "Run",
    "Style",
    "add",
    "cap_height",
    "descent",
    "metrics",
    "path_of",
    "runs",
    "width",
]
