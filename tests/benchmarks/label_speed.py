"""A thousand tags, encoded and drawn, against the obvious way of doing the same.

Run it with ``python -m tests.benchmarks.label_speed``. The obvious way takes the QR library's own
choices, fills the modules of each symbol as one path of rectangles, a rectangle for each dark run,
and writes the same words at the same places; both draw both symbols of every tag. Cases alternate
within a round; a ratio is the median over the rounds. Memory is measured in a process of its own.
"""

import argparse
import gc
import io
import json
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import segno
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from labels import fonts, qr, render_pdf, render_raster
from labels.sheets.cylinder_tag import CylinderTag
from labels.sheets.drawing import Bar, Mark, Words, draw
from labels.sheets.media import A4, flow
from tests.labels.samples import SHOP, seeded_codes

HOST = "tag.example"
MM = 72 / 25.4
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


def timed(work: Callable[[], object]) -> float:
    gc.collect()
    before = time.process_time()
    work()
    return time.process_time() - before


def ratio(count: int, rounds: int) -> dict[str, Any]:
    """Processor time of ours over the obvious way's, alternating which goes first."""
    listed = seeded_codes(count)
    ours(listed[:2]), obvious(listed[:2])
    ratios, times = [], []
    for number in range(rounds):
        pair = [(0, lambda: ours(listed)), (1, lambda: obvious(listed))]
        took = {which: timed(work) for which, work in (pair if number % 2 else pair[::-1])}
        ratios.append(took[0] / took[1])
        times.append(took[0])
    median = statistics.median(ratios)
    return {
        "ratio": round(median, 3),
        "target": RATIO_TARGET,
        "ok": median <= RATIO_TARGET,
        "rounds": rounds,
        "floor": "segno's defaults, reportlab, one path a symbol",
        "what": f"processor time of {count} tags with encoding; ours {min(times):.2f} s",
    }


def size(count: int) -> dict[str, Any]:
    """Bytes of PDF for each tag."""
    each = len(ours(seeded_codes(count))) / count
    return {
        "ratio": round(each / BYTES_TARGET, 3),
        "target": 1.0,
        "ok": each <= BYTES_TARGET,
        "rounds": 1,
        "floor": f"{BYTES_TARGET} bytes a tag",
        "what": f"{each:.0f} bytes of PDF a tag, {count} tags",
    }


def raster(count: int, rounds: int) -> dict[str, Any]:
    """Tags drawn as PNG at 203 dpi, symbols at hand, each tag another."""
    tags = [
        tag_for(number, code, qr.symbol(HOST, code))
        for number, code in enumerate(seeded_codes(count))
    ]
    rates = [
        count / timed(lambda: [render_raster.png(tag, dpi=203) for tag in tags])
        for _ in range(rounds)
    ]
    rate = statistics.median(rates)
    return {
        "ratio": round(RASTER_TARGET / rate, 3),
        "target": 1.0,
        "ok": rate >= RASTER_TARGET,
        "rounds": rounds,
        "floor": f"{RASTER_TARGET} tags a second",
        "what": f"{rate:.0f} tags a second of processor time as PNG, 203 dpi",
    }


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


def memory(count: int) -> dict[str, Any]:
    """Peak resident memory (Linux's VmHWM) over that of the same process with two tags."""
    peaks = []
    for number in (2, count):
        done = subprocess.run(
            [sys.executable, "-c", _PEAK, str(number)], capture_output=True, text=True, check=True
        )
        peaks.append(int(done.stdout) / 1024)
    grown = peaks[1] - peaks[0]
    return {
        "ratio": round(grown / MEMORY_TARGET_MB, 3),
        "target": 1.0,
        "ok": grown <= MEMORY_TARGET_MB,
        "rounds": 1,
        "floor": f"{MEMORY_TARGET_MB} MB over the same process with two tags",
        "what": f"{grown:.1f} MB more at the peak for {count} tags (base {peaks[0]:.0f} MB)",
    }


def run(*, count: int = 1_000, rounds: int = 5) -> dict[str, dict[str, Any]]:
    """All cases of the labels' benchmark."""
    return {
        "labels_pdf": ratio(count, rounds),
        "labels_bytes": size(count),
        "labels_raster": raster(min(count, 300), rounds),
        "labels_memory": memory(count),
    }


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1_000)
    parser.add_argument("--rounds", type=int, default=5)
    given = parser.parse_args()
    results = run(count=given.count, rounds=given.rounds)
    sys.stdout.write(json.dumps(results, indent=2) + "\n")
    return 0 if all(one["ok"] for one in results.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
