"""The stored posts, good and bad: the first word of the file's name is what each comes to."""

from pathlib import Path

import pytest

from cylinders.rules.judgement import UnusableBody, Verdict, loads, parse
from tests.rules.judgement.records import POSTS, judged

ALL = sorted(POSTS.glob("*.json"))
USABLE = [path for path in ALL if not path.stem.startswith("unusable_")]
UNUSABLE = [path for path in ALL if path.stem.startswith("unusable_")]


@pytest.mark.parametrize("path", USABLE, ids=lambda path: path.stem)
def test_a_post_comes_to_what_its_name_says(path: Path) -> None:
    judgement = judged(loads(path.read_bytes()))
    assert judgement.verdict == path.stem.partition("_")[0], judgement.reasons


@pytest.mark.parametrize("path", UNUSABLE, ids=lambda path: path.stem)
def test_an_unusable_post_is_refused_with_a_reason(path: Path) -> None:
    with pytest.raises(UnusableBody) as unusable:
        parse(loads(path.read_bytes()))
    assert all(problem.says for problem in unusable.value.problems)


def test_there_is_a_post_for_every_verdict() -> None:
    assert {path.stem.partition("_")[0] for path in USABLE} == set(Verdict)


def test_the_posts_name_no_real_lab_or_maker() -> None:
    for path in USABLE:
        body = parse(loads(path.read_bytes()))
        assert body.rin.startswith("Z")
        assert body.cylinder.manufacturer_mark == "M9999"
