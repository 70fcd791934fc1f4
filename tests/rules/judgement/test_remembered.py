"""What is taken from memory is what would be judged afresh, and nothing else is taken from it."""

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from types import UnionType
from typing import Any, get_args, get_type_hints

import pytest

from cylinders.rules.extra_rows import NO_EXTRA, ExtraRows, PermitRow
from cylinders.rules.judgement import (
    Judgement,
    KnownCylinder,
    LabStanding,
    PreviousTest,
    TestBody,
    Verdict,
    judge,
    remembered,
)
from cylinders.rules.judgement.on_file import OnFile
from cylinders.rules.judgement.remembered import Sitting
from cylinders.rules.month import Month
from cylinders.rules.quantity import psi
from cylinders.rules.verdict import Citation
from tests.rules.judgement.records import TESTED, TODAY, read, record

IN_FORCE = LabStanding("Z999", TODAY)
KNOWN = KnownCylinder(service_pressures=(psi(3000),))
NOTHING = OnFile()


@dataclass(frozen=True, kw_only=True)
class Asked:
    """One question with its grounds."""

    text: str = "the good record"
    on: dt.date = TODAY
    lab: LabStanding | None = IN_FORCE
    extra: ExtraRows = NO_EXTRA
    known: KnownCylinder = KNOWN
    previous: tuple[PreviousTest, ...] = ()
    on_file: OnFile = NOTHING

    def answer(self) -> Judgement:
        sitting = Sitting(on=self.on, lab=self.lab, extra=self.extra)
        return sitting.judge(
            read(record()),
            self.text,
            known_cylinder=self.known,
            previous=self.previous,
            on_file=self.on_file,
        ).judgement


@pytest.fixture
def judgings(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Judgement]]:
    """Each judgement that was really made."""
    made: list[Judgement] = []

    def counted(body: TestBody, **beside: Any) -> Judgement:
        made.append(judge(body, **beside))
        return made[-1]

    monkeypatch.setattr(remembered, "judge", counted)
    remembered.forget()
    yield made
    remembered.forget()


def test_the_same_question_is_judged_once(judgings: list[Judgement]) -> None:
    first = Asked().answer()
    assert Asked().answer() is first
    assert len(judgings) == 1
    assert first.verdict is Verdict.PASSED


def test_after_forgetting_it_is_judged_again(judgings: list[Judgement]) -> None:
    first = Asked().answer()
    remembered.forget()
    assert Asked().answer() == first
    assert len(judgings) == 2


EARLIER = PreviousTest(
    lab_reference="A-1",
    date=TESTED - dt.timedelta(days=1825),
    method="water_jacket",
    test_pressure=psi(5000),
    verdict=Verdict.PASSED,
)
PERMIT = PermitRow(permit="99999", cites=Citation("DOT-SP 99999"))


@pytest.mark.parametrize(
    "moved",
    [
        {"text": "the good record with another operator"},
        {"on": TODAY + dt.timedelta(days=1)},
        {"lab": None},
        {"lab": LabStanding("Z999", TESTED - dt.timedelta(days=1))},
        {"extra": ExtraRows(permits=(PERMIT,))},
        {"known": KnownCylinder(service_pressures=(psi("3000.0"),))},
        {"known": KnownCylinder(service_pressures=(psi(3000),), condemned=True)},
        {"known": KnownCylinder(service_pressures=(psi(3000),), came_on=TODAY)},
        {"previous": (EARLIER,)},
        {"previous": (replace(EARLIER, over_limit=True),)},
        {"previous": (EARLIER, EARLIER)},
        {"on_file": OnFile(no_check="the check of the day is out")},
        {"on_file": OnFile(check=7)},
        {"on_file": OnFile(against=("the thread scope found a crack",))},
    ],
    ids=str,
)
def test_whatever_has_moved_it_is_judged_again(
    judgings: list[Judgement], moved: dict[str, Any]
) -> None:
    Asked().answer()
    asked = Asked(**moved)
    assert asked.answer() == judge(
        read(record()),
        on=asked.on,
        lab=asked.lab,
        extra=asked.extra,
        known_cylinder=asked.known,
        previous=asked.previous,
        on_file=asked.on_file,
    )
    assert len(judgings) == 2


def test_memory_has_an_end(judgings: list[Judgement]) -> None:
    kept = remembered._answered.cache_info()
    assert kept.maxsize == remembered.MOST
    Asked().answer()
    assert remembered._answered.cache_info().currsize == 1
    remembered.forget()
    assert remembered._answered.cache_info().currsize == 0
    assert judgings


def parts_of(kind: Any) -> Iterator[Any]:
    """A type and all types that its fields are made of."""
    for inner in get_args(kind):
        yield from parts_of(inner)
    if not isinstance(kind, UnionType) and is_dataclass(kind):
        yield kind
        for inner in get_type_hints(kind).values():
            yield from parts_of(inner)


WHOLE = (KnownCylinder, LabStanding, PreviousTest, ExtraRows, OnFile)
GROUNDS = sorted(
    {part for kind in WHOLE for part in parts_of(kind)}, key=lambda kind: str(kind.__name__)
)


@pytest.mark.parametrize("kind", GROUNDS, ids=lambda kind: kind.__name__)
def test_each_ground_is_written_whole(kind: Any) -> None:
    """A field that is not written could move unseen."""
    assert all(field.repr for field in fields(kind))
    assert kind.__dataclass_params__.repr
    assert Month in GROUNDS
