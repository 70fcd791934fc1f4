"""A sentence and its figures: what is said is English, and is said anew elsewhere from both."""

import ast
import copy
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

import pytest

from cylinders.rules.wording import Saying, say, together
from tests.wording.catalogue import HOUSE


def calls() -> Iterator[tuple[str, str, set[str]]]:
    """Each ``say`` of the code: where, its template and the names of its figures."""
    for room in ("cylinders", "labels", "api"):
        for path in sorted((HOUSE / room).rglob("*.py")):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            constants = dict(phrases(tree))
            for call in ast.walk(tree):
                if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "say":
                    yield from one(path, call, constants)


def phrases(tree: ast.Module) -> Iterator[tuple[str, str]]:
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Call):
            [target] = node.targets
            if getattr(node.value.func, "id", "") == "phrase" and isinstance(target, ast.Name):
                yield target.id, str(ast.literal_eval(node.value.args[0]))


def one(
    path: Path, call: ast.Call, constants: dict[str, str]
) -> Iterator[tuple[str, str, set[str]]]:
    first = call.args[0]
    template = constants.get(first.id) if isinstance(first, ast.Name) else None
    if isinstance(first, ast.Constant):
        template = str(first.value)
    names = {keyword.arg for keyword in call.keywords}
    if template is not None and None not in names:
        yield f"{path.relative_to(HOUSE)}:{call.lineno}", template, {str(name) for name in names}


def test_every_sentence_has_the_figures_that_its_template_names() -> None:
    found = list(calls())
    assert len(found) > 400
    wrong = [
        (where, template)
        for where, template, given in found
        if {name for _, name, _, _ in Formatter().parse(template) if name} != given
    ]
    assert wrong == []


@pytest.mark.parametrize("again", [copy.copy, copy.deepcopy])
def test_a_copy_is_the_same_sentence_with_the_same_figures(again: object) -> None:
    said = say("{part} fits {cylinder}.", part="valve", cylinder="DOT-3AL")
    assert callable(again)
    copied = again(said)
    assert isinstance(copied, Saying)
    assert (copied, copied.template, copied.figures) == (
        "valve fits DOT-3AL.",
        "{part} fits {cylinder}.",
        {"part": "valve", "cylinder": "DOT-3AL"},
    )


def test_sentences_in_a_row_read_as_one_and_leave_out_what_is_empty() -> None:
    row = together([say("One."), "", say("Two {n}.", n=2)])
    assert row == "One. Two 2."
    assert isinstance(row, Saying)
    assert list(row.figures.values()) == ["One.", "Two 2."]
