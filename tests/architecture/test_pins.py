"""The pins are complete, hashed, and say nothing about where packages are fetched from."""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PIN = re.compile(r"([a-z0-9][a-z0-9.-]*)==(\S+)")


def pins(name: str) -> dict[str, str]:
    text = (ROOT / ".pins" / f"{name}.txt").read_text(encoding="ascii")
    return dict(PIN.findall(text))


def named(requirements: list[str]) -> set[str]:
    """Return the packages of a list of requirements, in the spelling of the pins."""
    names = (re.split(r"[\[<>=~! ;]", line, maxsplit=1)[0] for line in requirements)
    return {name.lower().replace("_", "-") for name in names}


def project() -> dict[str, list[str]]:
    read = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    run = read["project"]["dependencies"] + read["project"]["optional-dependencies"]["postgres"]
    return {"run": run, "test": run + read["dependency-groups"]["test"]}


@pytest.mark.parametrize("name", ["run", "test"])
def test_each_package_that_the_project_names_is_pinned(name: str) -> None:
    assert named(project()[name]) - pins(name).keys() == set()


@pytest.mark.parametrize("name", ["run", "test"])
def test_each_pin_has_a_hash_and_no_address(name: str) -> None:
    text = (ROOT / ".pins" / f"{name}.txt").read_text(encoding="ascii")
    blocks = re.split(r"\n(?=[a-z0-9])", text.strip())
    assert len(blocks) == len(pins(name)) > 20
    for block in blocks:
        assert re.search(r"--hash=sha256:[0-9a-f]{64}$", block), block[:80]
    assert "://" not in text
    assert "index" not in text


def test_what_is_tested_is_what_runs() -> None:
    assert pins("run").items() <= pins("test").items()
