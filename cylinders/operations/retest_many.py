"""Many records of one lab at once: the same rows, events and verdicts as one by one, in six looks.

A run of records of different cylinders is read, judged and stored set-wise. A record with a past (a
void or a correction of it came before) is taken by :func:`retest.receive_record` in its turn, and
so is none that shares its cylinder with an earlier one of the same run: that one must count first.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from weakref import WeakKeyDictionary

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, Facts
from cylinders.models import (
    Cylinder,
    TestRecord,
    set_at_once,
)
from cylinders.operations import leaned_on, recording, retest
from cylinders.operations.leaned_on import LeanedOn
from cylinders.operations.retest import Receipt
from cylinders.queries.tested import known_cylinder, previous_test
from cylinders.rules.judgement import TestBody, Verdict
from cylinders.rules.judgement.answer import Answered
from cylinders.rules.judgement.on_file import completed
from cylinders.rules.judgement.remembered import Sitting
from cylinders.rules.refusal import Refused


@dataclass(frozen=True, slots=True)
class Posted:
    """One record as read from its text, and its cylinder; or why no cylinder could be named."""

    body: TestBody
    text: str
    cylinder_id: int | None
    unnamed: Refused | None = None

    @property
    def reference(self) -> str:
        """The lab's own reference."""
        return self.body.lab_reference


Outcome = Receipt | Refused


@transaction.atomic
def receive_records(
    *, lab_id: int, posted: Sequence[Posted], on: dt.date, at: dt.datetime, by: Actor
) -> list[Outcome]:
    """Judge and store records of one lab in their order; what came of each, in that order.

    A record that is refused keeps none of the others back. See :func:`retest.receive_record` for
    what is refused and why.
    """
    made: list[Outcome] = []
    while len(made) < len(posted):
        run = _of_different_cylinders(posted[len(made) :])
        beside = leaned_on.lock_and_read(
            lab_id=lab_id,
            cylinders={one.cylinder_id for one in run if one.cylinder_id is not None},
            bodies=[one.body for one in run],
        )
        plain = run[: _first_with_a_past(run, beside)]
        sitting = Sitting(on=on, lab=beside.standing, extra=beside.extra)
        made += _store(plain, beside, sitting, at=at, by=by)
        if len(plain) < len(run):
            made.append(_alone(lab_id, run[len(plain)], on=on, at=at, by=by))
    return made


def _of_different_cylinders(posted: Sequence[Posted]) -> Sequence[Posted]:
    """The records up to the first whose cylinder, or whose reference, was there before."""
    cylinders: set[int] = set()
    references: set[str] = set()
    for place, one in enumerate(posted):
        if one.cylinder_id in cylinders or one.reference in references:
            return posted[:place]
        references.add(one.reference)
        if one.cylinder_id is not None:
            cylinders.add(one.cylinder_id)
    return posted


def _first_with_a_past(run: Sequence[Posted], beside: LeanedOn) -> int:
    for place, one in enumerate(run):
        if one.reference in beside.with_a_past and one.reference not in beside.held:
            return place
    return len(run)


@dataclass(frozen=True, slots=True)
class _New:
    """A record that is to be stored, judged; ``late`` where a later test counts already."""

    record: TestRecord
    whole: TestBody
    answered: Answered
    late: bool


def _store(
    plain: Sequence[Posted], beside: LeanedOn, sitting: Sitting, *, at: dt.datetime, by: Actor
) -> list[Outcome]:
    """Store what is new among records without a past: three statements, or none.

    An event names its record's number; it is written out while the database stores the record.
    """
    outcomes: list[Outcome] = []
    news: list[_New] = []
    for one in plain:
        made = _looked_at(one, beside, sitting, at=at)
        if isinstance(made, _New):
            news.append(made)
            made = Receipt(made.record, created=True)
        outcomes.append(made)
    if news:
        stored = set_at_once.insert_each([new.record for new in news], beside.numbers)
        pairs = ((record.cylinder, _fact_of(new)) for record, new in zip(stored, news, strict=True))
        history.append_many(pairs, changed=recording.CHANGED, at=at, by=by)
    return outcomes


def _looked_at(
    one: Posted, beside: LeanedOn, sitting: Sitting, *, at: dt.datetime
) -> _New | Receipt | Refused:
    held = beside.held.get(one.reference)
    cylinder = beside.cylinders.get(one.cylinder_id or 0)
    if held:
        try:
            return retest.held_before(held, one.text)
        except Refused as refused:
            return refused
    if cylinder is None:
        return one.unnamed or retest.not_sent()
    return _judged(one, cylinder, beside, sitting, at=at)


def _judged(
    one: Posted, cylinder: Cylinder, beside: LeanedOn, sitting: Sitting, *, at: dt.datetime
) -> _New:
    visit = beside.visits[cylinder.pk]
    filed = beside.on_file(one.body, visit.number)
    answered = sitting.judge(
        one.body,
        one.text,
        known_cylinder=known_cylinder(cylinder, came_at=visit.opened_at),
        previous=tuple(previous_test(record) for record in beside.earlier[cylinder.pk]),
        on_file=filed,
    )
    judged = answered.judgement
    record = retest.new_record(
        one.body,
        one.text,
        answered,
        lab_id=beside.lab_id,
        cylinder=cylinder,
        work_order_id=visit.number,
        at=at,
    )
    if judged.daily_check:
        record.daily_check = beside.reports[judged.daily_check]
    late = recording.later_counts(record, beside.earlier[cylinder.pk])
    return _New(record, completed(one.body, filed), answered, late)


def _fact_of(new: _New) -> Facts:
    """The event of a record that was stored; what it changes is set on its cylinder."""
    judged = new.answered.judgement
    verdict = judged.verdict
    if verdict is Verdict.HELD:
        return recording.held_facts(new.record, list(judged.reasons))
    digest = _digest_of(new.answered)
    facts = recording.attached_facts(new.record, new.whole, verdict, answer_sha256=digest)
    recording.change_cylinder(new.record.cylinder, facts, verdict, late=new.late)
    return facts


#: the digests of answers that are remembered, for as long as they are
_DIGESTS: WeakKeyDictionary[Answered, str] = WeakKeyDictionary()


def _digest_of(answered: Answered) -> str:
    digest = _DIGESTS.get(answered)
    if digest is None:
        digest = _DIGESTS[answered] = history.digest_of_value(answered.answer)
    return digest


def _alone(lab_id: int, one: Posted, *, on: dt.date, at: dt.datetime, by: Actor) -> Outcome:
    """One record by the ordinary way."""
    if one.cylinder_id is None:
        return one.unnamed or retest.not_sent()
    try:
        with transaction.atomic():
            return retest.receive_record(
                lab_id=lab_id,
                cylinder_id=one.cylinder_id,
                body=one.body,
                body_text=one.text,
                on=on,
                at=at,
                by=by,
            )
    except Refused as refused:
        return refused
