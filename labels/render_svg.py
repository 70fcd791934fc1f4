"""Draws a label as SVG for the preview on a page; the same shapes, in millimetres.

Words carry the width that the layout worked out, so that a browser without the font keeps the
places. Everything that comes from outside is escaped.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

from labels import qr
from labels.fonts import MM_PER_POINT
from labels.sheets.drawing import Bar, Mark, Words, draw

if TYPE_CHECKING:
    from labels.qr import Symbol
    from labels.sheets.drawing import Content, Item

_FAMILY = "Atkinson Hyperlegible, Noto Sans, sans-serif"


def svg(content: Content, *, face: int = 0) -> str:
    """One face of a label as an SVG document; raises as :func:`labels.render_raster.png` does."""
    drawing = draw(content.faces()[face])
    width, height = drawing.layout.width, drawing.layout.height
    shapes = "".join(_shape(item) for item in drawing.items)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{width:g}mm" '
        f'height="{height:g}mm" viewBox="0 0 {width:g} {height:g}">'
        f"<title>{escape(drawing.layout.name)}</title>"
        f'<rect width="{width:g}" height="{height:g}" fill="#fff"/>{shapes}</svg>'
    )


def _shape(item: Item) -> str:
    if isinstance(item, Bar):
        return f'<rect x="{item.x:g}" y="{item.y:g}" width="{item.w:g}" height="{item.h:g}"/>'
    if isinstance(item, Words):
        return _words(item)
    if isinstance(item, Mark):
        return _mark(item)
    points = " ".join(f"{x:.3f},{y:.3f}" for x, y in item.points)
    return f'<polygon points="{points}" fill="{item.ink}"/>'


def _words(words: Words) -> str:
    weight = ' font-weight="bold"' if words.font == "bold" else ""
    return (
        f'<text x="{words.x:.3f}" y="{words.y:.3f}" font-family={quoteattr(_FAMILY)}{weight} '
        f'font-size="{words.size * MM_PER_POINT:.3f}" fill="{words.ink}" xml:space="preserve" '
        f'textLength="{words.width:.3f}" lengthAdjust="spacingAndGlyphs">'
        f"{escape(words.text)}</text>"
    )


def _mark(mark: Mark) -> str:
    module = mark.size / (mark.symbol.size + 2 * qr.QUIET_MODULES)
    x = mark.x + qr.QUIET_MODULES * module
    y = mark.y + qr.QUIET_MODULES * module
    return (
        f'<path shape-rendering="crispEdges" transform="translate({x:.4f} {y:.4f}) '
        f'scale({module:.5f})" d="{path(mark.symbol)}"/>'
    )


def path(symbol: Symbol) -> str:
    """The dark runs of a symbol as SVG path data in whole modules."""
    return "".join(f"M{column} {row}h{run}v1h-{run}z" for row, column, run in symbol.runs)
