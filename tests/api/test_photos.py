"""Photos are judged within bounds: what they cost in memory, and what is asked before decoding."""

import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from api import photos
from cylinders.rules.refusal import Refused
from tests import files

HOUSE = Path(__file__).parent.parent.parent
MEASURE = """
import re, sys, django
django.setup()
from api import photos
for path in sys.argv[1:]:
    data = open(path, "rb").read()
    made = photos.judged(data).content
    assert max(made.width, made.height) == 1600
print(int(re.search("VmHWM:[^0-9]*([0-9]+) kB", open("/proc/self/status").read())[1]) // 1024)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="memory is read from Linux's /proc")
def test_the_largest_photos_that_are_taken_stay_under_two_hundred_megabytes(tmp_path: Path) -> None:
    """The most that a whole process with Django in it had resident, one after the other."""
    wide = Image.new("RGB", (6250, 4000), (200, 90, 20))
    cases = {
        "plain.jpg": files.saved(wide),
        "progressive.jpg": files.saved(wide, progressive=True),
        "wide.png": files.saved(wide, "PNG", compress_level=1),
        "alpha.png": files.saved(Image.new("RGBA", (4000, 3000)), "PNG", compress_level=1),
        "small.webp": files.saved(wide.crop((0, 0, 3000, 2000)), "WEBP", quality=40, method=0),
    }
    paths = []
    for name, data in cases.items():
        assert len(data) < photos.MOST_BYTES, name
        path = tmp_path / name
        path.write_bytes(data)
        paths.append(str(path))
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, *paths],
        cwd=HOUSE,
        env={"DJANGO_SETTINGS_MODULE": "api.settings", "VAR_DIR": str(tmp_path / "var")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-900:]
    assert int(done.stdout) < 200


@pytest.mark.parametrize(
    "data",
    [
        files.png_of(5_001, 5_000, rows=1),
        files.saved(Image.new("RGB", (3001, 2000)), "WEBP", lossless=True, method=0),
        files.saved(Image.new("RGB", (16, 16))).replace(b"\xff\xda", b"\xff\xda" * 50),
    ],
    ids=["more than 25 million pixels", "a WebP of more than 6", "a JPEG of fifty scans"],
)
def test_what_would_cost_too_much_is_refused_before_it_is_decoded(
    data: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object) -> None:
        raise AssertionError("decoded")

    monkeypatch.setattr(Image.Image, "load", never)
    monkeypatch.setattr("PIL.ImageFile.ImageFile.load", never)
    with pytest.raises(Refused) as refused:
        photos.judged(data)
    assert refused.value.code in {"photo_too_many_pixels", "photo_damaged"}


def test_a_progressive_photo_that_is_held_whole_in_memory_is_refused() -> None:
    fine = Image.new("CMYK", (5000, 4000))
    with pytest.raises(Refused) as refused:
        photos.judged(files.saved(fine, progressive=True, quality=5))
    assert refused.value.code == "photo_too_many_pixels"
    assert photos.judged(files.saved(fine, quality=5)).content.width == 1600


def test_the_same_photo_gives_the_same_bytes() -> None:
    assert photos.judged(files.photo()).content == photos.judged(files.photo()).content
