"""The mutation tester itself: what it changes, and that it tells a noticed change from another."""

import pytest

from tests.mutation.mutants import mutants
from tests.mutation.reasons import REASONS
from tests.mutation.run import ROOT, survives
from tests.mutation.targets import TARGETS

SMALL = '''
"""A docstring with 10 % in it."""
LIMIT: int = 10
def above(share: int, *, word: str = "code") -> bool:
    """Says 3 < 5."""
    if share > LIMIT and word:
        return True
    return abs(share) == min(share, 1)
'''


def test_each_comparison_figure_word_and_branch_is_changed_once() -> None:
    names = [one.name for one in mutants(SMALL)]
    assert len(names) == len(set(names))
    for name in (
        "module: 10 -> 11",
        "above: 'code' -> 'codeX'",
        "above: share > LIMIT -> share >= LIMIT",
        "above: share > LIMIT -> share <= LIMIT",
        "above: share > LIMIT and word -> share > LIMIT or word",
        "above: share > LIMIT and word -> word",
        "above: if share > LIMIT and word -> if not",
        "above: return True -> return None",
        "above: True -> False",
        "above: abs(share) -> share",
        "above: min -> max",
    ):
        assert name in names


def test_docstrings_and_annotations_stay_and_every_mutant_is_a_program() -> None:
    for one in mutants(SMALL):
        assert "A docstring with 10 % in it." in one.source
        assert "Says 3 < 5." in one.source
        assert "-> bool" in one.source
        compile(one.source, "mutant", "exec")


@pytest.mark.long
def test_a_change_of_the_rule_is_noticed_and_its_own_source_is_not() -> None:
    target = TARGETS["water_jacket"]
    source = ROOT.joinpath(*target.module.split(".")).with_suffix(".py").read_text("utf-8")
    assert survives(target.module, source, target.tests)
    changed = source.replace("> Fraction(percent) *", ">= Fraction(percent) *")
    assert changed != source
    assert not survives(target.module, changed, target.tests)


def test_a_reason_belongs_to_a_target() -> None:
    assert set(REASONS) <= set(TARGETS)
