"""The certificate on one sheet of A4: what it says, the symbol that checks it, what it proves."""

import io
from collections.abc import Sequence
from functools import lru_cache

from django.utils.translation import gettext as _
from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from api import wording
from cylinders.rules.wording import say
from labels import fonts
from labels.fonts import Style
from labels.qr import Symbol

_LEFT, _SECOND = 20 * mm, 62 * mm
_TOP = A4[1] - 25 * mm
_LINE = 6.2 * mm
#: Large enough for a phone: half a millimetre a module (see the symbol's size), with a quiet zone.
_MODULE = 0.55 * mm
_PROVES = (
    say("This proves what was recorded on that day, and that nobody changed it since."),
    say("It does not prove today's state: the stamp in the metal decides."),
)


def paper(
    facts: Sequence[tuple[str, str]], *, lab: str, shop: str, symbol: Symbol | None, address: str
) -> bytes:
    """The sheet as PDF; the same certificate gives the same bytes.

    Raises :class:`labels.fonts.GlyphMissing` where a name cannot be printed whole.
    """
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=A4, invariant=True)
    canvas.setTitle(_("Certificate of requalification"))
    _write(canvas, _LEFT, _TOP, _("Certificate of requalification"), "bold", 20)
    told = _("%(lab)s recorded this test. %(shop)s judged it again and signed it.") % {
        "lab": lab,
        "shop": shop,
    }
    _write(canvas, _LEFT, _TOP - 9 * mm, told, "regular", 10)
    y = _TOP - 22 * mm
    for name, value in facts:
        _write(canvas, _LEFT, y, name, "regular", 10)
        _write(canvas, _SECOND, y, value, "bold", 11)
        y -= _LINE
    for line in _PROVES:
        y -= _LINE
        _write(canvas, _LEFT, y, wording.told(line), "bold", 10)
    y -= 8 * mm
    if symbol is not None:
        side = symbol.size * _MODULE
        _draw(canvas, symbol, _LEFT, y - side)
        x = _LEFT + side + 6 * mm
        _write(canvas, x, y - 6 * mm, _("Scan to check."), "bold", 11)
        by_hand = _("Or by hand: %(address)s") % {"address": address}
        _write(canvas, x, y - 12 * mm, by_hand, "regular", 9)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _write(canvas: Canvas, x: float, y: float, text: str, style: Style, size: float) -> None:
    for run in fonts.runs(text, style):
        canvas.setFont(_font(run.font), size)
        canvas.drawString(x, y, run.text)
        x += run.width * size / 1000


def _draw(canvas: Canvas, symbol: Symbol, x: float, y: float) -> None:
    """The dark runs as rectangles, lowest row at ``y``."""
    path = canvas.beginPath()
    for row, column, length in symbol.runs:
        below = symbol.size - 1 - row
        path.rect(x + column * _MODULE, y + below * _MODULE, length * _MODULE, _MODULE)
    canvas.drawPath(path, stroke=0, fill=1)


@lru_cache(maxsize=8)
def _font(name: str) -> str:
    registered = f"paper-{name}"
    pdfmetrics.registerFont(TTFont(registered, str(fonts.path_of(name))))
    return registered
