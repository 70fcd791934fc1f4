"""Which records of a chain of corrections count, whatever the order in which they came.

A chain is a record, the correction of it, the correction of that, and so on. What each counts for
follows from what has arrived, not from when: the latest one that stands counts, the ones before it
are superseded, a void takes one out of the chain. A person is asked where a correction would lift
what ended a cylinder's service, and where the record that is corrected has not come.
"""

import datetime as dt
from dataclasses import dataclass
from itertools import pairwise

from cylinders import history, story
from cylinders.facts import Actor, Kind, RecordSettled
from cylinders.models import Cylinder, RecordState, RecordVoid, TestRecord
from cylinders.operations import recording
from cylinders.operations.chains import chain_of
from cylinders.rules import judgement
from cylinders.rules.judgement import Verdict
from cylinders.rules.wording import say

#: From bad to good for a cylinder's further service; only a person may lift the first two.
_ENDS_SERVICE = (Verdict.CONDEMNED.value, Verdict.REJECTED.value)
#: what counts for nothing now, also where it counted once
_OUT = (RecordState.SUPERSEDED, RecordState.VOIDED, RecordState.HELD)


@dataclass(frozen=True, slots=True)
class _Move:
    """One record and what it is from now on."""

    record: TestRecord
    state: RecordState
    why: str


def settle(record: TestRecord, cylinder: Cylinder, *, at: dt.datetime, by: Actor) -> None:
    """Bring the chain of ``record`` to what follows from all that has arrived.

    The caller has locked the cylinder. Writes one event for each record whose standing changes.
    """
    own = TestRecord.objects.filter(lab_id=record.lab_id, cylinder_id=record.cylinder_id)
    links = chain_of(record, own)
    for earlier, later in pairwise(links):
        if later.supersedes_id != earlier.pk:
            later.supersedes = earlier
            later.save(update_fields=["supersedes"])
    moves = [move for move in _moves(links) if move.record.state != move.state]
    if not moves:
        return
    counted = _counted_before(cylinder)
    for move in moves:
        if move.state is RecordState.ATTACHED and move.record.pk not in counted:
            _attach(move.record, cylinder, at=at, by=by)
    for move in moves:
        if move.record.state != move.state:
            _restate(move, cylinder, at=at, by=by)


def why_waits(record: TestRecord, earlier: TestRecord | None) -> str:
    """Why a correction waits for a person, or nothing; ``earlier`` is what it corrects."""
    if not record.corrects or record.decided:
        return ""
    if earlier is None:
        return say("It corrects {corrects}, which has not come.", corrects=record.corrects)
    better = earlier.verdict in _ENDS_SERVICE and record.verdict not in (
        Verdict.CONDEMNED.value,
        earlier.verdict,
    )
    if better:
        return say(
            "It would lift the verdict {verdict} of {lab_reference}.",
            verdict=earlier.verdict,
            lab_reference=earlier.lab_reference,
        )
    return ""


def _moves(links: list[TestRecord]) -> list[_Move]:
    """What each record of the chain is, judged from the latest back to the first."""
    references = [record.lab_reference for record in links]
    voids = {
        void.lab_reference: void.reason
        for void in RecordVoid.objects.filter(lab=links[0].lab_id, lab_reference__in=references)
    }
    moves: list[_Move] = []
    counting: TestRecord | None = None
    for place in range(len(links) - 1, -1, -1):
        record, earlier = links[place], links[place - 1] if place else None
        reason = voids.get(record.lab_reference)
        if record.state == RecordState.DISMISSED:
            state, why = RecordState.DISMISSED, ""
        elif reason is not None and record.verdict not in _ENDS_SERVICE:
            state, why = RecordState.VOIDED, reason
        elif counting is not None:
            state, why = (
                RecordState.SUPERSEDED,
                say("{lab_reference} has taken its place", lab_reference=counting.lab_reference),
            )
        elif record.verdict == Verdict.HELD.value or why_waits(record, earlier):
            state, why = (
                RecordState.HELD,
                why_waits(record, earlier) or say("it contradicts something"),
            )
        else:
            state, why, counting = RecordState.ATTACHED, say("nothing stands in its place"), record
        moves.append(_Move(record, state, why))
    return moves


def _attach(record: TestRecord, cylinder: Cylinder, *, at: dt.datetime, by: Actor) -> None:
    """Let a correction count that waited for the record it corrects, or for what is void now."""
    record.state = RecordState.ATTACHED
    record.save(update_fields=["state"])
    body = judgement.parse(judgement.loads(record.body))
    recording.attach(record, cylinder, body, Verdict(record.verdict), at=at, by=by)


def _restate(move: _Move, cylinder: Cylinder, *, at: dt.datetime, by: Actor) -> None:
    """Change what one record counts for, and what is last done on its cylinder with it."""
    move.record.state = move.state
    move.record.save(update_fields=["state"])
    told = _as_if_never_come(cylinder)
    cylinder.requalified = told.markings["requalified"]
    cylinder.requalified_symbol = told.markings["requalified_symbol"]
    cylinder.requalified_rin = told.markings["requalified_rin"]
    cylinder.last_thread_examination = told.last_thread_examination
    cylinder.save()
    facts = RecordSettled(
        record=move.record.pk,
        lab_reference=move.record.lab_reference,
        state=move.state.value,
        why=move.why,
        requalified=cylinder.requalified,
        requalified_symbol=cylinder.requalified_symbol,
        requalified_rin=cylinder.requalified_rin,
        last_thread_examination=cylinder.last_thread_examination,
    )
    history.append(cylinder, facts, at=at, by=by)


def _counted_before(cylinder: Cylinder) -> set[int]:
    """The records that counted once: their marks stand in the history already."""
    told = history.timeline(cylinder.pk)
    return {entry.facts["record"] for entry in told if entry.kind is Kind.RECORD_ATTACHED}


def _as_if_never_come(cylinder: Cylinder) -> story.State:
    """The cylinder's story without the records that do not count; the end of a life stays."""
    out = set(cylinder.records.filter(state__in=_OUT).values_list("pk", flat=True))
    return story.tell(
        (entry.kind, entry.facts)
        for entry in history.timeline(cylinder.pk)
        if entry.kind is not Kind.RECORD_SETTLED
        and not (entry.kind is Kind.RECORD_ATTACHED and entry.facts["record"] in out)
    )
