"""An audit that audited nothing fails; and what can be known of the pins without any service."""

import re
from importlib import metadata
from pathlib import Path
from typing import Any

import pytest

from tests.audit.reading import pins, problems

PINS = Path(__file__).parents[2] / ".pins"
PINNED = {"pillow": "13.0.0", "segno": "1.6.6"}
CLEAN = [
    {"name": "Pillow", "version": "13.0.0", "vulns": []},
    {"name": "segno", "version": "1.6.6", "vulns": []},
]
#: the first release in which a hole that concerns this service was mended, and which hole
MENDED = {
    "pillow": ((12, 2, 0), "CVE-2026-40192: a small file in an odd format unpacks without end"),
}


def test_all_looked_up_and_nothing_known_is_well() -> None:
    assert problems({"dependencies": CLEAN, "fixes": []}, PINNED) == []


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({}, "nothing was audited"),
        ([], "nothing was audited"),
        (None, "nothing was audited"),
        ({"dependencies": []}, "nothing was audited"),
        ({"dependencies": CLEAN[:1]}, "segno was not looked up"),
        (
            {"dependencies": [CLEAN[0], {"name": "segno", "skip_reason": "not found there"}]},
            "segno was skipped: not found there",
        ),
        (
            {"dependencies": [CLEAN[0], {"name": "segno", "version": "1.6.5", "vulns": []}]},
            "segno was not looked up",
        ),
        (
            {
                "dependencies": [
                    CLEAN[1],
                    {
                        "name": "Pillow",
                        "version": "13.0.0",
                        "vulns": [{"id": "X-1", "fix_versions": ["13.0.1"]}],
                    },
                ]
            },
            "pillow 13.0.0: X-1, mended in 13.0.1",
        ),
    ],
)
def test_anything_else_is_a_problem(told: Any, says: str) -> None:
    assert problems(told, PINNED) == [says]


def test_what_is_installed_here_is_what_is_pinned() -> None:
    pinned = pins((PINS / "run.txt").read_text(encoding="ascii"))
    installed = {}
    for name in pinned:
        try:
            installed[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            continue  # for another system or another Python
    assert len(installed) > 30
    assert {name: pinned[name] for name in installed} == installed


@pytest.mark.parametrize("name", MENDED)
def test_a_hole_that_concerns_us_is_mended_in_what_is_pinned(name: str) -> None:
    floor, why = MENDED[name]
    version = pins((PINS / "run.txt").read_text(encoding="ascii"))[name]
    assert tuple(map(int, re.findall(r"\d+", version)[:3])) >= floor, why
