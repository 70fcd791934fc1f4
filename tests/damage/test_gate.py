"""What must not get worse: the seeded damage benchmark at a size for every day."""

import pytest

from labels import reading
from tests.damage import bench

SIZES = [5, pytest.param(12, marks=pytest.mark.long)]


@pytest.mark.parametrize("trials", SIZES)
@pytest.mark.parametrize("name", bench.MODERATE)
def test_a_tag_in_clean_to_moderate_damage_is_read(name: str, trials: int) -> None:
    result = bench.score(name, "Q", trials, all_readers=False)
    assert result.misread == 0
    if result.read < 0.95 * trials:  # the camera's single look may miss what the passes mend
        result = bench.score(name, "Q", trials)
        assert result.read_in_passes >= 0.95 * trials
        assert result.misread == 0


@pytest.mark.parametrize("trials", [10, pytest.param(60, marks=pytest.mark.long)])
def test_two_symbols_are_read_within_ten_frames_at_wear_2(trials: int) -> None:
    two, misread = bench.frames("Q", 2, trials)
    assert two[-1] >= 0.9 * trials
    assert misread == 0


def test_the_same_seed_gives_the_same_pictures() -> None:
    name = "dark blot 4 %"
    assert bench.score(name, "Q", 3, all_readers=False) == bench.score(
        name, "Q", 3, all_readers=False
    )


def test_a_wrong_text_would_be_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "read_symbols", lambda _: ("https://evil.test",))
    result = bench.score("clean", "Q", 2, all_readers=False)
    assert (result.read, result.misread) == (0, 2)
