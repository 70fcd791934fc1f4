"""Each sentence is given just the figures that its template asks for."""

import ast
import string
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FILES = sorted(
    path
    for room in ("cylinders", "labels", "api")
    for path in (ROOT / room).rglob("*.py")
    if "migrations" not in path.parts
)


def _called(node: ast.expr) -> str:
    return node.id if isinstance(node, ast.Name) else getattr(node, "attr", "")


def _text(node: ast.expr, phrases: dict[str, str]) -> str | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.Call) and _called(node.func) == "phrase":
        return _text(node.args[0], phrases)
    return phrases.get(node.id) if isinstance(node, ast.Name) else None


def _phrases(tree: ast.Module) -> dict[str, str]:
    found: dict[str, str] = {}
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
            text = _text(node.value, {})
            if text is not None:
                found[node.targets[0].id] = text
    return found


def _sayings(path: Path) -> Iterator[tuple[int, set[str], set[str]]]:
    """``(line, asked for, given)`` of each call whose template stands in the same file."""
    tree = ast.parse(path.read_text())
    phrases = _phrases(tree)
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and _called(node.func) in {"say", "Saying"}):
            continue
        template = _text(node.args[0], phrases) if node.args else None
        given = {keyword.arg for keyword in node.keywords}
        if template is None or None in given:
            continue
        fields = {name for _, name, _, _ in string.Formatter().parse(template) if name}
        asked = {name.partition(".")[0].partition("[")[0] for name in fields}
        yield node.lineno, asked, {name for name in given if name}


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_what_a_sentence_asks_for_is_given(path: Path) -> None:
    wrong = [
        f"line {line}: asks for {sorted(asked)}, is given {sorted(given)}"
        for line, asked, given in _sayings(path)
        if asked != given
    ]
    assert not wrong, "\n".join(wrong)


def test_most_sentences_are_looked_at() -> None:
    assert sum(1 for path in FILES for _ in _sayings(path)) > 300
