"""The labels' speed gates, at a size for every day; ratios and processor time, never the clock."""

from tests.benchmarks import label_speed


def test_tags_with_encoding_take_a_quarter_of_the_obvious_way() -> None:
    (result,) = label_speed.ratio(60, 3)
    assert result.ratio <= label_speed.RATIO_TARGET, result


def test_a_thousand_tags_take_at_most_350_bytes_each() -> None:
    result = label_speed.size(1_000)
    assert result.ok, result


def test_a_hundred_tags_a_second_are_drawn_as_dots() -> None:
    result = label_speed.raster(100)
    assert result.ok, result


def test_a_thousand_tags_need_at_most_20_mb_more_than_two() -> None:
    result = label_speed.memory(1_000)
    assert result.ok, result
