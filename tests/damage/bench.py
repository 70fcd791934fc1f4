"""The damage benchmark: read rates of worn symbols, by level and by reader.

Run it with ``python -m tests.damage.bench --trials 40``: it writes a table in Markdown. Every
picture follows from a seed, so a second run gives the same table. All of it is simulated: it ranks
designs and guards against a step back, it promises no read rate in a workshop. With 40 trials one
standard error is up to 8 points.
"""

import argparse
import sys
import zlib
from dataclasses import dataclass, replace

import cv2
import numpy as np
from PIL import Image

from labels import qr, reading
from labels.qr import Symbol
from tests.damage.wear import Picture, Wear, pair, photographed, worn
from tests.labels.samples import seeded_codes

HOST = "tag.example"
#: Level -> version: with a host of 11 characters the payload needs version 4 at level H.
LEVELS = {"M": 3, "Q": 3, "H": 4}
FRAMES = 10

CELLS: dict[str, Wear] = {
    "clean": Wear(),
    "contrast 0.10": Wear(contrast=0.10),
    "contrast 0.06": Wear(contrast=0.06),
    "blur 0.25 mm": Wear(blur_mm=0.25),
    "blur 0.30 mm": Wear(blur_mm=0.30),
    "blur 0.35 mm": Wear(blur_mm=0.35),
    "tilt 45 degrees": Wear(tilt=45),
    "tilt 55 degrees": Wear(tilt=55),
    "cylinder 184 mm, square on": Wear(cylinder_mm=184),
    "cylinder 184 mm, turned 30": Wear(cylinder_mm=184, turned=30),
    "cylinder 184 mm, turned 45": Wear(cylinder_mm=184, turned=45),
    "cylinder 137 mm, square on": Wear(cylinder_mm=137),
    "cylinder 137 mm, turned 30": Wear(cylinder_mm=137, turned=30),
    "cylinder 137 mm, turned 40": Wear(cylinder_mm=137, turned=40),
    "print growth 0.4 module": Wear(growth=0.4),
    "print growth 0.6 module": Wear(growth=0.6),
    "2 dead print-head dots": Wear(dead_dots=2),
    "dark blot 2 %": Wear(blot=0.02),
    "dark blot 4 %": Wear(blot=0.04),
    "dark blot 8 %": Wear(blot=0.08),
    "dark blot 12 %": Wear(blot=0.12),
    "ink rubbed off 8 %": Wear(loss=0.08),
    "ink rubbed off 12 %": Wear(loss=0.12),
    "3 scratches 0.2 mm": Wear(scratches=3),
    "5 scratches 0.2 mm": Wear(scratches=5),
    "4 scratches 0.4 mm": Wear(scratches=4, scratch_mm=0.4),
    "glare stripe 5 mm": Wear(glare_mm=5),
    "3 px/mm": Wear(scale=3),
    "2 px/mm": Wear(scale=2),
}
#: Clean to moderate: the gate asks 95 % of these, at level Q, of the reader the service uses.
MODERATE = (
    "clean",
    "contrast 0.10",
    "blur 0.25 mm",
    "tilt 45 degrees",
    "cylinder 184 mm, square on",
    "cylinder 184 mm, turned 30",
    "cylinder 137 mm, square on",
    "cylinder 137 mm, turned 30",
    "print growth 0.4 module",
    "print growth 0.6 module",
)
#: Wear of a used tag, each symbol for itself: a small blot, ink rubbed off and a scratch, so much
#: that about half of single symbols are not read at first sight.
WEAR_2 = Wear(blot=0.005, loss=0.005, scratches=1)


@dataclass
class Score:
    """Readings of one cell."""

    trials: int = 0
    read: int = 0
    read_by_opencv: int = 0
    read_in_passes: int = 0
    misread: int = 0

    def percent(self, count: int) -> int:
        return round(100 * count / max(self.trials, 1))


def symbol(level: str, code: str) -> Symbol:
    """A tag's symbol at a level, in the version that the payload needs there."""
    rest = qr.tag_url(HOST, code).removeprefix("https")
    return qr.make((("https", "byte"), (rest, "alphanumeric")), version=LEVELS[level], level=level)


def seed(*parts: object) -> np.random.Generator:
    """The same generator for the same cell and trial, whatever ran before."""
    return np.random.default_rng(zlib.crc32(repr(parts).encode()))


def score(name: str, level: str, trials: int, *, all_readers: bool = True) -> Score:
    """Read a cell ``trials`` times; the damage is the same at every level."""
    result = Score(trials=trials)
    for number, code in enumerate(seeded_codes(trials, seed=4)):
        source = seed(name, number)
        made = symbol(level, code)
        wear = CELLS[name]
        picture = photographed(worn(made, wear, source), wear, source)
        texts = set(reading.read_symbols(Image.fromarray(picture)))
        result.read += made.url in texts
        if all_readers:
            second = cv2.QRCodeDetector().detectAndDecode(picture)[0]
            result.read_by_opencv += second == made.url
            in_passes = set(reading.read_picture(Image.fromarray(picture)).texts)
            result.read_in_passes += made.url in in_passes
            texts |= in_passes | ({second} - {""})
        result.misread += bool(texts - {made.url})
    return result


def frames(
    level: str, symbols: int, trials: int, *, glare_mm: float = 0, count: int = FRAMES
) -> tuple[list[int], int]:
    """Tags read by the n-th frame, and misreads: the wear stays, camera and glare move."""
    read_by = [0] * count
    misread = 0
    for number, code in enumerate(seeded_codes(trials, seed=10)):
        made = symbol(level, code)
        tags: list[Picture] = [
            worn(made, WEAR_2, seed("wear", number, side)) for side in range(symbols)
        ]
        tag = tags[0] if symbols == 1 else pair(*tags)
        source = seed("camera", number)
        for frame in range(count):
            seen = replace(
                Wear(),
                blur_mm=source.uniform(0.05, 0.35),
                contrast=source.uniform(0.15, 1.0),
                tilt=source.uniform(0, 35),
                cylinder_mm=184,
                turned=source.uniform(-20, 20),
                glare_mm=glare_mm,
            )
            texts = set(reading.read_symbols(Image.fromarray(photographed(tag, seen, source))))
            misread += bool(texts - {made.url})
            if made.url in texts:
                for later in range(frame, count):
                    read_by[later] += 1
                break
    return read_by, misread


def table(trials: int) -> str:
    """Both tables as Markdown."""
    lines = [
        f"Read rate in %, {trials} trials a cell: zxing-cpp / OpenCV / the server's passes.",
        "",
        "| damage | " + " | ".join(f"{level} (v{v})" for level, v in LEVELS.items()) + " |",
        "|---|" + "---|" * len(LEVELS),
    ]
    misread = 0
    for name in CELLS:
        cells = []
        for level in LEVELS:
            result = score(name, level, trials)
            misread += result.misread
            counts = (result.read, result.read_by_opencv, result.read_in_passes)
            cells.append("/".join(str(result.percent(count)) for count in counts))
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    lines += [
        "",
        "| tags read at wear 2, % | 1st frame | 3 frames | 10 frames |",
        "|---|---|---|---|",
    ]
    for level in LEVELS:
        for symbols in (1, 2):
            for glare in (0, 5):
                read_by, wrong = frames(level, symbols, trials, glare_mm=glare)
                misread += wrong
                words = f"{level}, {'one symbol' if symbols == 1 else 'two symbols'}"
                words += ", glare stripe" if glare else ""
                shown = [round(100 * read_by[n] / trials) for n in (0, 2, 9)]
                lines.append(f"| {words} | {shown[0]} | {shown[1]} | {shown[2]} |")
    return "\n".join([*lines, "", f"Misreads: {misread}."])


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=40)
    sys.stdout.write(table(parser.parse_args().trials) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
