"""What the runner calls ok, and what it refuses to judge."""

import json
import subprocess
import sys
import time

import pytest

from tests.benchmarks import __main__ as command
from tests.benchmarks.runner import Case, Result, Round, Target, Took, gate, judge, race

TARGET = Target("some_work", "ours", "floor", 2.0, "some work")


def rounds(*ratios: float) -> list[Round]:
    return [{"ours": Took(ratio, ratio), "floor": Took(1.0, 1.0)} for ratio in ratios]


def test_the_median_of_the_rounds_is_held_against_the_target() -> None:
    met = judge(TARGET, rounds(1.9, 1.9, 1.9, 1.9, 2.0, 2.1, 2.1, 2.1, 2.1))
    assert (met.ratio, met.ok, met.noisy) == (2.0, True, "")
    missed = judge(TARGET, rounds(*[2.1] * 9))
    assert (missed.ok, missed.noisy) == (False, "")


@pytest.mark.parametrize(
    ("took", "others", "why"),
    [
        (rounds(*[1.0] * 8, 1.51), 0.0, "ratios from"),
        (rounds(*[1.0] * 9), 0.26, "other programs took 26%"),
        (rounds(*[1.0] * 8), 0.0, "8 rounds are too few"),
    ],
)
def test_a_noisy_run_is_never_called_ok(took: list[Round], others: float, why: str) -> None:
    result = judge(TARGET, took, others=others)
    assert not result.ok
    assert why in result.noisy


def test_cases_take_turns_and_each_stage_is_set_before_its_case() -> None:
    calls: list[str] = []
    cases = {
        "ours": Case(lambda: calls.append("ours"), before=lambda: calls.append("set")),
        "floor": Case(lambda: calls.append("floor"), before=lambda: calls.append("set")),
    }
    list(race(cases, [TARGET], rounds=2, slices=1))
    assert calls[-8:] == ["set", "ours", "set", "floor", "set", "floor", "set", "ours"]


@pytest.mark.long  # it measures time, which no daily test does
def test_work_that_takes_twice_as_long_has_the_ratio_two() -> None:
    def spin(seconds: float) -> None:
        until = time.process_time() + seconds
        while time.process_time() < until:
            pass

    cases = {"ours": Case(lambda: spin(0.004)), "floor": Case(lambda: spin(0.002))}
    target = Target("spin", "ours", "floor", 3.0, "spinning", by="cpu")
    (result,) = race(cases, [target], rounds=3, slices=2)
    assert 1.5 < result.ratio < 2.5


def test_a_figure_without_noise_is_a_share_of_its_limit() -> None:
    assert gate("bytes", measured=7, at_most=14, floor="14 kB", what="a page").ratio == 0.5
    assert not gate("bytes", measured=15, at_most=14, floor="14 kB", what="a page").ok


def test_programs_get_ratio_target_and_word_under_the_name() -> None:
    row = gate("bytes", measured=7, at_most=14, floor="14 kB", what="a page").as_dict()
    assert {"ratio", "target", "ok", "rounds", "floor", "what"} <= row.keys()
    assert json.loads(json.dumps(row)) == row


def test_the_table_says_noisy_where_it_was_not_judged() -> None:
    noisy = Result("some", 1.0, 2.0, ok=False, rounds=9, floor="f", what="w", noisy="why")
    assert command._line(noisy).startswith("noisy")


def test_every_benchmark_can_be_named() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks", "--list"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.split() == [*command.BENCHES]
