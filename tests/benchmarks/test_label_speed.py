"""The labels' gates without noise, at a size for every day; ratios of time are the bench's."""

from tests.benchmarks import label_speed


def test_a_thousand_tags_take_at_most_350_bytes_each() -> None:
    result = label_speed.size(1_000)
    assert result.ok, result


def test_a_thousand_tags_need_at_most_20_mb_more_than_two() -> None:
    result = label_speed.memory(1_000)
    assert result.ok, result
