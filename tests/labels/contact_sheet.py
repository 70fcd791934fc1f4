"""Pictures of every sheet for the documents; ``python -m tests.labels.contact_sheet`` makes them.

They are the raster renderer's own dots, so a test can hold them against what is drawn today.
"""

import io
import sys
from pathlib import Path

from PIL import Image

from labels import render_raster
from labels.sheets.scanner_test import ScannerTest
from tests.labels.samples import manifest, tags

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "pictures"
_GAP, _GROUND = 24, 200
_DPI = 203


def sheet_of_tags() -> bytes:
    """All tags and the scanner test in two rows, at the dots of a 203 dpi printer."""
    contents = [*tags().values(), ScannerTest()]
    drawn = [
        render_raster.image(face, dpi=_DPI) for content in contents for face in content.faces()
    ]
    rows = [drawn[0::2], drawn[1::2]]
    heights = [max(label.height for label in row) for row in rows]
    width = max(sum(label.width + _GAP for label in row) for row in rows) + _GAP
    ground = Image.new("L", (width, sum(heights) + 3 * _GAP), _GROUND)
    y = _GAP
    for row, height in zip(rows, heights, strict=True):
        x = _GAP
        for label in row:
            ground.paste(label.convert("L"), (x, y))
            x += label.width + _GAP
        y += height + _GAP
    return saved(ground.reduce(2))


def manifest_page() -> bytes:
    """The first page of a manifest, as drawn for a 203 dpi printer, at half that size."""
    return saved(render_raster.image(manifest().faces()[0], dpi=_DPI).convert("L").reduce(2))


def saved(picture: Image.Image) -> bytes:
    """As PNG of sixteen greys."""
    out = io.BytesIO()
    greys = picture.point(lambda value: value // 16)
    greys.putpalette([level * 17 for level in range(16) for _ in "rgb"])
    greys.save(out, "PNG", bits=4, optimize=False, compress_level=9)
    return out.getvalue()


PICTURES = {"tags.png": sheet_of_tags, "manifest.png": manifest_page}


def main() -> int:
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, make in PICTURES.items():
        (FOLDER / name).write_bytes(make())
    return 0


if __name__ == "__main__":
    sys.exit(main())
