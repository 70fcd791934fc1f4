"""A record that was judged already on the same grounds is not judged again.

A lab tries its file before it sends it, so each record is asked about twice within minutes. The
rules ask neither clock nor store: what :func:`judge` says rests on nothing but what it is given.
Two questions are the same where they are written the same, to the last digit: 10 and 10.0 are one
number, but they were not read to the same increment.
"""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache, partial

from cylinders.rules.extra_rows import ExtraRows
from cylinders.rules.judgement.answer import Answered, as_json
from cylinders.rules.judgement.body import TestBody
from cylinders.rules.judgement.decide import judge
from cylinders.rules.judgement.on_file import OnFile
from cylinders.rules.judgement.ruling import (
    Judgement,
    KnownCylinder,
    LabStanding,
    PreviousTest,
)

#: records of one file, some 27 kB each; of a longer one each is judged again
MOST = 1_000


class Sitting:
    """Records of one lab, judged on one day by the rows that the owner has entered."""

    def __init__(self, *, on: dt.date, lab: LabStanding | None, extra: ExtraRows) -> None:
        self._judge = partial(judge, on=on, lab=lab, extra=extra)
        self._written = repr((on, lab, extra))

    def judge(
        self,
        body: TestBody,
        text: str,
        *,
        known_cylinder: KnownCylinder,
        previous: tuple[PreviousTest, ...],
        on_file: OnFile,
    ) -> Answered:
        """What :func:`judge` says of ``body``, which was read from ``text`` and nothing else."""
        beside = repr((known_cylinder, previous, on_file))
        judging = partial(
            self._judge, body, known_cylinder=known_cylinder, previous=previous, on_file=on_file
        )
        return _answered(_Question(f"{text}\n{beside}\n{self._written}", judging))


def forget() -> None:
    """Give the memory back: what was tried has been sent."""
    _answered.cache_clear()


@dataclass(frozen=True, slots=True)
class _Question:
    written: str
    judge: Callable[[], Judgement] = field(compare=False)


@lru_cache(MOST)
def _answered(question: _Question) -> Answered:
    judged = question.judge()
    return Answered(judged, as_json(judged))
