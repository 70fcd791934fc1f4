"""The labels' gates without noise, at a size for every day; ratios of time are the bench's."""

import pytest

from tests.benchmarks import label_speed


def test_a_thousand_tags_take_at_most_350_bytes_each() -> None:
    result = label_speed.size(1_000)
    assert result.ok, result


@pytest.mark.parametrize("tags", [100, pytest.param(1_000, marks=pytest.mark.long)])
def test_many_tags_need_at_most_20_mb_more_than_two(tags: int) -> None:
    result = label_speed.memory(tags)
    assert result.ok, result
