"""What the house promises of itself: its rooms, their sizes, and rules that need no framework."""

import ast
import importlib
import pkgutil
import re
import re._parser as re_parser  # type: ignore[import-not-found]  # no stub; the tree is the proof
import subprocess
import sys
from pathlib import Path
from statistics import median

import cylinders.rules
import labels.codes

HOUSE = Path(__file__).parent.parent.parent
ROOMS = ("cylinders", "labels", "api")
TOP = {
    *("README.md", "DEVELOPERS.md", "manage.py", "pyproject.toml"),
    *("cylinders", "labels", "api", "fixtures", "tests"),
}


def modules() -> list[Path]:
    return [
        path
        for room in ROOMS
        for path in (HOUSE / room).rglob("*.py")
        if "migrations" not in path.parts
    ]


def functions(path: Path) -> list[tuple[str, int]]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [
        (f"{path.relative_to(HOUSE)}:{node.name}", (node.end_lineno or 0) - node.lineno + 1)
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
    ]


def test_the_top_level_is_what_the_design_says() -> None:
    told = subprocess.run(
        ["git", "ls-files"], cwd=HOUSE, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert {name.partition("/")[0] for name in told if not name.startswith(".")} <= TOP


def test_no_module_is_larger_than_the_budget() -> None:
    sizes = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in modules()}
    assert {str(path): size for path, size in sizes.items() if size > 300} == {}
    assert median(sizes.values()) <= 100


def test_no_function_is_longer_than_the_budget() -> None:
    found = [one for path in modules() for one in functions(path)]
    assert [one for one in found if one[1] > 51] == []
    lengths = sorted(length for _, length in found)
    assert lengths[int(len(lengths) * 0.9)] <= 20


def test_the_rules_load_without_django() -> None:
    code = """
import importlib, pkgutil, sys
import cylinders.rules, cylinders.facts, cylinders.story, labels.codes, labels.qr, labels.sheets
for room in (cylinders.rules, cylinders.facts, labels.sheets):
    for module in pkgutil.walk_packages(room.__path__, room.__name__ + "."):
        importlib.import_module(module.name)
loaded = {name.partition(".")[0] for name in sys.modules}
sys.exit(bool(loaded & {"django", "rest_framework", "celery"}))
"""
    done = subprocess.run([sys.executable, "-c", code], cwd=HOUSE, check=False)
    assert done.returncode == 0


def test_no_pattern_is_possessive_or_atomic() -> None:
    """Python before 3.11.4 lets such a match end before it began (python/cpython gh-101955)."""
    patterns = {
        f"{module.__name__}.{name}": pattern
        for room in (cylinders.rules, labels.codes)
        for found in pkgutil.walk_packages(room.__path__, f"{room.__name__}.")
        for module in [importlib.import_module(found.name)]
        for name, pattern in vars(module).items()
        if isinstance(pattern, re.Pattern)
    }
    assert len(patterns) > 20
    parsed = {name: str(re_parser.parse(one.pattern)) for name, one in patterns.items()}
    assert [n for n, tree in parsed.items() if "POSSESSIVE" in tree or "ATOMIC" in tree] == []
