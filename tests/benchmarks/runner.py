"""One small A/B runner: cases in turn in one run, judged by ratios, or not judged at all.

A benchmark is a module of this package with ``run(rounds)``, which yields a :class:`Result` for
each target; its name stands in ``BENCHES`` of ``__main__.py``, and ``manage.py bench NAME`` runs
it. A module that needs the service's database opens :func:`tests.benchmarks.ground.database`::

    def run(rounds: int | None = None) -> Iterator[Result]:
        with ground.database():
            yield from race(
                {"ours": Case(work, before=empty), "COPY": Case(floor, before=empty)},
                [Target("upload_rows", "ours", "COPY", 2.5, "1,000 rows with all checks")],
                rounds=rounds or COMMITS,
            )

What is fixed here: every case runs in every round, in an order that is reversed every other round;
the collector runs before each; a round's ratio is that of two cases of the same round, and the
median of the rounds is held against the target. Where the largest ratio is more than half again
the smallest, or other programs took too much of the machine, the result is "noisy": it is never
ok. A noisy race is run again, at most twice, and whatever its ratio was is forgotten.
"""

import gc
import math
import statistics
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal, TypeAlias

from tests.benchmarks.machine import Watch

ROUNDS, COMMITS = 9, 15  # the fewest that are judged; the second where a database commits
WIDEST = 1.5  # largest ratio of the rounds over the smallest
MOST_BY_OTHERS = 0.25  # of all processors' time while the race ran
ATTEMPTS, PATIENCE = 3, 45.0  # no new attempt begins after so many seconds
SLICES = 4  # each case's turn in a round is cut into so many, alternating with the others
LONG_ENOUGH = 0.02  # seconds of one slice; a shorter case is repeated

Measure: TypeAlias = Literal["wall", "cpu"]


@dataclass(frozen=True, slots=True)
class Case:
    """One way of doing the work; ``before`` sets the stage and is not counted."""

    work: Callable[[], object]
    before: Callable[[], object] | None = None


@dataclass(frozen=True, slots=True)
class Target:
    """``name`` is in target where ``ours`` takes at most ``at_most`` times what ``floor`` takes.

    ``by`` is "cpu" for work in this process alone (a busy machine then matters less) and "wall"
    where a server does part of it.
    """

    name: str
    ours: str
    floor: str
    at_most: float
    what: str
    by: Measure = "wall"


@dataclass(frozen=True, slots=True)
class Result:
    """What came of one target; ``noisy`` says why it was not judged."""

    name: str
    ratio: float
    target: float
    ok: bool
    rounds: int
    floor: str
    what: str
    low: float = 0.0
    high: float = 0.0
    cpu: float | None = None
    noisy: str = ""

    def as_dict(self) -> dict[str, Any]:
        """The values that stand under the name in the JSON."""
        row = asdict(self)
        del row["name"]
        return row


@dataclass(frozen=True, slots=True)
class Took:
    """Seconds of one case in one round."""

    wall: float
    cpu: float

    def of(self, measure: Measure) -> float:
        """The seconds that count; the processor's clock is coarse, never nothing."""
        return max(self.cpu if measure == "cpu" else self.wall, 1e-9)


Round: TypeAlias = Mapping[str, Took]


def race(
    cases: Mapping[str, Case],
    targets: Sequence[Target],
    *,
    rounds: int = ROUNDS,
    slices: int = SLICES,
) -> Iterator[Result]:
    """Run the cases against each other; again where the machine was too noisy to judge."""
    repeats = {name: _repeats(case) for name, case in cases.items()}
    waiting = list(targets)
    attempts = ATTEMPTS if rounds >= ROUNDS else 1
    began = time.monotonic()
    for attempt in range(attempts):
        watch = Watch()
        took = [_round(cases, repeats, slices, number) for number in range(rounds)]
        others = watch.by_others()
        judged = [(target, judge(target, took, others=others)) for target in waiting]
        last = attempt == attempts - 1 or time.monotonic() - began > PATIENCE
        yield from (result for _, result in judged if last or not result.noisy)
        waiting = [target for target, result in judged if result.noisy]
        if last or not waiting:
            return


def judge(target: Target, took: Sequence[Round], *, others: float = 0.0) -> Result:
    """Hold the rounds against one target; ``others`` is the share that other programs took."""
    ratios = _ratios(target, took, target.by)
    middle = statistics.median(ratios)
    noisy = _noise(ratios, others)
    return Result(
        name=target.name,
        ratio=round(middle, 3),
        target=target.at_most,
        ok=not noisy and middle <= target.at_most,
        rounds=len(took),
        floor=target.floor,
        what=target.what,
        low=round(min(ratios), 3),
        high=round(max(ratios), 3),
        cpu=round(statistics.median(_ratios(target, took, "cpu")), 3),
        noisy=noisy,
    )


def gate(name: str, *, measured: float, at_most: float, floor: str, what: str) -> Result:
    """A figure without noise (bytes, queries, rows): measured once, as a share of its limit."""
    return Result(
        name=name,
        ratio=round(measured / at_most, 3),
        target=1.0,
        ok=measured <= at_most,
        rounds=1,
        floor=floor,
        what=what,
    )


def _noise(ratios: Sequence[float], others: float) -> str:
    if others > MOST_BY_OTHERS:
        return f"other programs took {others:.0%} of the machine"
    if max(ratios) > WIDEST * min(ratios):
        return f"ratios from {min(ratios):.2f} to {max(ratios):.2f}"
    if len(ratios) < ROUNDS:
        return f"{len(ratios)} rounds are too few to judge by"
    return ""


def _ratios(target: Target, took: Sequence[Round], by: Measure) -> list[float]:
    return [one[target.ours].of(by) / one[target.floor].of(by) for one in took]


def _repeats(case: Case) -> int:
    """How often a case is run in one slice, so that a slice is long enough to be timed."""
    if case.before:
        case.before()
    case.work()
    if case.before:
        case.before()
    began = time.perf_counter()
    case.work()
    took = time.perf_counter() - began
    return 1 if case.before else max(1, math.ceil(LONG_ENOUGH / max(took, 1e-9)))


def _round(cases: Mapping[str, Case], repeats: Mapping[str, int], slices: int, turn: int) -> Round:
    """Each case once, cut into slices that take turns: a slow moment then falls on all of them.

    ``repeats`` says how often each is run in a slice; in odd turns the order is reversed.
    """
    names = list(cases)[:: -1 if turn % 2 else 1]
    took: dict[str, list[Took]] = {name: [] for name in names}
    for number in range(slices):
        for name in names if number % 2 == 0 else reversed(names):
            took[name].append(_slice(cases[name], repeats[name]))
    return {name: _mean(took[name], repeats[name] * slices) for name in names}


def _mean(took: Sequence[Took], times: int) -> Took:
    return Took(sum(one.wall for one in took) / times, sum(one.cpu for one in took) / times)


def _slice(case: Case, repeats: int) -> Took:
    if case.before:
        case.before()
    gc.collect()
    wall, cpu = time.perf_counter(), time.process_time()
    for _ in range(repeats):
        case.work()
    return Took(time.perf_counter() - wall, time.process_time() - cpu)
