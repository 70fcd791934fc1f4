"""A thousand tags, encoded and drawn, against the obvious way of doing the same.

The obvious way takes the QR library's own choices, fills the modules of each symbol as one path of
rectangles, a rectangle for each dark run, and writes the same words at the same places; both draw
both symbols of every tag. Memory is measured in a process of its own.
"""

import io
import subprocess
import sys
import time
from collections.abc import Iterator
from typing import Any

import segno
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from labels import fonts, qr, render_pdf, render_raster
from labels.sheets.cylinder_tag import CylinderTag
from labels.sheets.drawing import Bar, Mark, Words, draw
from labels.sheets.media import A4, flow
from tests.benchmarks.runner import ROUNDS, Case, Result, Target, gate, race
from tests.labels.samples import SHOP, seeded_codes

HOST = "tag.example"
MM = 72 / 25.4
FLOOR = "segno's defaults, reportlab, one path a symbol"
COUNT = 150  # tags of the timed sheets
RATIO_TARGET, BYTES_TARGET, RASTER_TARGET, MEMORY_TARGET_MB = 0.25, 350, 100, 20


def tag_for(number: int, code: str, symbol: qr.Symbol) -> CylinderTag:
    return CylinderTag(
        symbol=symbol,
        code=code,
        specification="DOT-3AL 3000",
        serial=f"K{number:06d}",
        shop=SHOP,
    )


def ours(listed: list[str]) -> bytes:
    """Encode by both encoders, lay out and write one PDF."""
    tags = [tag_for(number, code, qr.symbol(HOST, code)) for number, code in enumerate(listed)]
    return render_pdf.pdf(tags, A4)


def obvious(listed: list[str]) -> bytes:
    """The library's defaults for each label, its matrix drawn as one path."""
    for name in ("regular", "bold"):
        pdfmetrics.registerFont(TTFont(f"plain-{name}", str(fonts.path_of(name))))
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(A4.width * MM, A4.height * MM), pageCompression=1, invariant=1)
    blank = qr.symbol(HOST, listed[0])
    places = list(flow(A4, [(62.0, 62.0)] * len(listed)))
    page = 0
    for number, code in enumerate(listed):
        matrix = segno.make(qr.tag_url(HOST, code), error="q").matrix
        if places[number][0] != page:
            canvas.showPage()
            page = places[number][0]
        _plain(canvas, tag_for(number, code, blank), matrix, places[number][1:])
    canvas.save()
    return out.getvalue()


def _plain(canvas: Canvas, tag: CylinderTag, matrix: Any, corner: tuple[float, float]) -> None:
    left, top = corner
    for item in draw(tag.faces()[0]).items:
        if isinstance(item, Words):
            canvas.setFont(f"plain-{item.font}", item.size)
            canvas.drawString((left + item.x) * MM, (A4.height - top - item.y) * MM, item.text)
        elif isinstance(item, Bar):
            canvas.rect(
                (left + item.x) * MM,
                (A4.height - top - item.y - item.h) * MM,
                item.w * MM,
                item.h * MM,
                stroke=0,
                fill=1,
            )
        elif isinstance(item, Mark):
            module = item.size / (len(matrix) + 8) * MM
            x0 = (left + item.x) * MM + 4 * module
            y0 = (A4.height - top - item.y) * MM - 4 * module
            _one_path(canvas, matrix, x0, y0, module)


def _one_path(canvas: Canvas, matrix: Any, x0: float, y0: float, module: float) -> None:
    path = canvas.beginPath()
    for row, line in enumerate(matrix):
        start = None
        for column, dark in enumerate([*line, 0]):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                y = y0 - (row + 1) * module
                path.rect(x0 + start * module, y, (column - start) * module, module)
                start = None
    canvas.drawPath(path, stroke=0, fill=1)


def ratio(count: int, rounds: int) -> Iterator[Result]:
    """Ours against the obvious way, encoding included."""
    listed = seeded_codes(count)
    what = f"sheet of {count} tags with encoding, as PDF"
    yield from race(
        {"ours": Case(lambda: ours(listed)), FLOOR: Case(lambda: obvious(listed))},
        [Target("labels_pdf", "ours", FLOOR, RATIO_TARGET, what, by="cpu")],
        rounds=rounds,
        slices=1,
    )


def size(count: int) -> Result:
    """Bytes of PDF for each tag."""
    return gate(
        "labels_bytes",
        measured=len(ours(seeded_codes(count))) / count,
        at_most=BYTES_TARGET,
        floor=f"{BYTES_TARGET} bytes a tag",
        what=f"bytes of PDF a tag, {count} tags",
    )


def raster(count: int) -> Result:
    """Processor time of tags drawn as PNG at 203 dpi, symbols at hand, each tag another."""
    tags = [
        tag_for(number, code, qr.symbol(HOST, code))
        for number, code in enumerate(seeded_codes(count))
    ]
    began = time.process_time()
    for tag in tags:
        render_raster.png(tag, dpi=203)
    return gate(
        "labels_raster",
        measured=1_000 * (time.process_time() - began) / count,
        at_most=1_000 / RASTER_TARGET,
        floor=f"{RASTER_TARGET} tags a second",
        what="ms of processor time a tag as PNG, 203 dpi",
    )


_PEAK = """
import random, sys
from pathlib import Path
from labels import codes, qr, render_pdf
from labels.sheets.cylinder_tag import CylinderTag
from labels.sheets.media import A4
source = random.Random(1)
listed = [codes.new_code(lambda: source.getrandbits(60)) for _ in range(int(sys.argv[1]))]
tags = [CylinderTag(symbol=qr.symbol("tag.example", c), code=c, serial="K" + c) for c in listed]
render_pdf.pdf(tags, A4)
status = Path('/proc/self/status').read_text()
print(status.split('VmHWM:')[1].split()[0])
"""


def memory(count: int) -> Result:
    """Peak resident memory (Linux's VmHWM) over that of the same process with two tags."""
    peaks = []
    for number in (2, count):
        done = subprocess.run(
            [sys.executable, "-c", _PEAK, str(number)], capture_output=True, text=True, check=True
        )
        peaks.append(int(done.stdout) / 1024)
    return gate(
        "labels_memory",
        measured=peaks[1] - peaks[0],
        at_most=MEMORY_TARGET_MB,
        floor=f"{MEMORY_TARGET_MB} MB over the same process with two tags",
        what=f"MB more at the peak for {count} tags (base {peaks[0]:.0f} MB)",
    )


def run(rounds: int | None = None) -> Iterator[Result]:
    """Every target of the labels."""
    yield from ratio(COUNT, rounds or ROUNDS)
    yield size(1_000)
    yield raster(200)
    yield memory(1_000)
