"""What was made by others and is served from here is what it was, and its licences are with it."""

import hashlib
from pathlib import Path

from django.conf import settings

FOLDER = Path(settings.BASE_DIR) / "api" / "pages" / "static" / "vendor"
LINES = [
    [word.strip() for word in line.split("|")]
    for line in (FOLDER / "THIRD_PARTY").read_text(encoding="utf-8").splitlines()
    if not line.startswith("#")
]


def test_each_file_is_the_one_that_was_listed() -> None:
    for name, _project, version, _licence, listed in LINES:
        assert hashlib.sha256((FOLDER / name).read_bytes()).hexdigest() == listed, name
        assert version.count(".") == 2


def test_every_file_is_listed_or_is_a_licence_of_one() -> None:
    licences = {
        Path(licence.split(",")[1].strip()) for line in LINES for licence in line[3].split(";")
    }
    listed = {Path(line[0]) for line in LINES} | licences | {Path("THIRD_PARTY")}
    stored = {path.relative_to(FOLDER) for path in FOLDER.rglob("*") if path.is_file()}
    assert stored == listed


def test_the_licences_are_whole() -> None:
    assert "MIT License" in (FOLDER / "zxing-wasm" / "LICENSE").read_text()
    apache = (FOLDER / "zxing-wasm" / "LICENSE-zxing-cpp").read_text()
    assert "END OF TERMS AND CONDITIONS" in apache
