"""The answer to "what does this stamp say": marks, warnings, questions and what was not read."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from cylinders.rules.markings.marks import (
    CondemnedMark,
    DateMark,
    LifeMark,
    Mark,
    OriginalMark,
    RequalificationMark,
    UnMark,
)
from cylinders.rules.month import Month
from cylinders.rules.verdict import Citation
from cylinders.rules.wording import say

ORIGINAL_TEST = say("original test")
#: code of the question which of several dates is that of the first test
FIRST_TEST = "first_test"


@dataclass(frozen=True, slots=True)
class Warned:
    """Something that cannot be true or must be known: stable code, sentence, source."""

    code: str
    says: str
    cites: Citation


@dataclass(frozen=True, slots=True)
class Question:
    """Something with more than one reading: a person picks one of ``choices``."""

    code: str
    says: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Unread:
    """Text that was not understood, as written, with its place.

    ``start`` counts characters from 0; ``line`` and ``column`` count from 1.
    """

    text: str
    start: int
    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Dual:
    """Two specification marks on one cylinder, compared.

    ``consistent`` is ``None`` where a pressure is missing; ``difference_percent`` then too.
    """

    consistent: bool | None
    difference_percent: str | None


@dataclass(frozen=True, slots=True)
class Reading:
    """Everything that was read from one cylinder's stamp on the day ``on`` in ``country``."""

    text: str
    on: dt.date
    country: str
    marks: tuple[Mark, ...] = ()
    dual: Dual | None = None
    warnings: tuple[Warned, ...] = ()
    questions: tuple[Question, ...] = ()
    unread: tuple[Unread, ...] = ()

    @property
    def original(self) -> OriginalMark | None:
        """The first specification mark, ``None`` where there is none."""
        return next((mark for mark in self.marks if isinstance(mark, OriginalMark)), None)

    @property
    def un(self) -> UnMark | None:
        """The UN or ISO stamp, ``None`` where there is none."""
        return next((mark for mark in self.marks if isinstance(mark, UnMark)), None)

    @property
    def latest_requalification(self) -> RequalificationMark | None:
        """The requalification with the latest date; one after the day asked about never counts."""
        past = [m for m in self.marks if isinstance(m, RequalificationMark) and not m.future]
        return max(reversed(past), key=lambda mark: mark.date, default=None)

    @property
    def first_test(self) -> Month | None:
        """Month of the first test, where one is stamped and may be believed."""
        if any(question.code == FIRST_TEST for question in self.questions):
            return None
        if self.original and self.original.test_date:
            return self.original.test_date
        if self.un and self.un.initial_date:
            return self.un.initial_date
        dates = [m for m in self.marks if isinstance(m, DateMark) and m.role == ORIGINAL_TEST]
        return dates[0].date if dates and not dates[0].future else None

    @property
    def life_end(self) -> Month | None:
        """Earliest month that ends the service life: FINAL, SERVICE, or the 24 years of a 3HT."""
        ends = [mark.date for mark in self.marks if isinstance(mark, LifeMark)]
        ends += [date for date in (self.un and self.un.final_date,) if date]
        ends += [date for date in (self.un and self.un.service_date,) if date]
        original = self.original
        if original and original.life_end:
            ends.append(original.life_end)
        return min(ends, default=None)

    @property
    def condemned(self) -> bool:
        """Whether a condemning mark was read: no service of any kind."""
        return any(isinstance(mark, CondemnedMark) for mark in self.marks)

    @property
    def plus_stands(self) -> bool:
        """Whether a plus follows the LATEST test date of a specification that may carry one.

        49 CFR 173.302a(b), 180.213(f)(3). The other conditions of the section are not stamped.
        A date that may be a later test (its order or role is open, or it was refused as lying
        ahead) takes the plus away: what is not known to be the latest does not count as latest.
        """
        original, latest = self.original, self.latest_requalification
        if original is None or self.condemned or not original.row.plus_allowed:
            return False
        counted = latest.date if latest else original.test_date
        if counted is None or self._may_be_later_than(counted):
            return False
        return latest.plus if latest else original.symbol == "+"

    @property
    def star(self) -> bool:
        """Whether a star follows the latest test date of a 3A or 3AA (never under water)."""
        original, latest = self.original, self.latest_requalification
        if original is None or latest is None or not original.row.star_allowed:
            return False
        return latest.star

    def _may_be_later_than(self, counted: Month) -> bool:
        """Whether some date on the stamp, or a number not read, may be a test after ``counted``."""
        return may_be_a_test(self.unread) or any(
            (isinstance(mark, RequalificationMark) and mark.future)
            or (isinstance(mark, DateMark) and (mark.date is None or mark.date > counted))
            for mark in self.marks
        )


def may_be_a_test(unread: Iterable[Unread]) -> bool:
    """Whether something that was not read has a digit, and so may be a later test's date."""
    return any(char.isdigit() for part in unread for char in part.text)
