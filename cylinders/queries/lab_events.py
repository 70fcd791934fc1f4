"""What happened that a lab, or the shop's own system, should know of, since a place."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cylinders import history
from cylinders.facts import Kind
from cylinders.history import Entry
from cylinders.models import Consignment, ConsignmentLine, TestRecord

_RECORDS = {
    Kind.RECORD_ATTACHED: "record.accepted",
    Kind.RECORD_HELD: "record.held",
    Kind.RECORD_DISMISSED: "record.dismissed",
}
_RUNS = {
    Kind.SENT: "cylinder.sent",
    Kind.RETURNED: "cylinder.returned",
    Kind.RETURN_UNDONE: "cylinder.return_undone",
}
KINDS = frozenset({*_RECORDS, *_RUNS, Kind.RECORD_SETTLED})
TYPES = (
    *_RECORDS.values(),
    *_RUNS.values(),
    "record.superseded",
    "record.voided",
    "record.attached",
)


@dataclass(frozen=True, slots=True)
class LabEvent:
    """One thing that happened: to a record by its ``reference`` or a run, of the lab ``rin``."""

    place: int
    type: str
    at: dt.datetime
    cylinder_id: int
    reference: str | None
    consignment: int | None
    rin: str


@dataclass(frozen=True, slots=True)
class Page:
    """Events in the order of their places, and the place from which to ask the next time."""

    events: tuple[LabEvent, ...]
    after: int
    more: bool


def page(*, lab_id: int | None, after: int, limit: int, before: dt.datetime | None) -> Page:
    """At most ``limit`` events behind the place ``after``: of that lab, or of all where it is None.

    ``before`` leaves out what is so young that an earlier event may still be on its way into the
    table; None where the database writes one after the other.
    """
    known = _known(lab_id)
    found: list[LabEvent] = []
    for place, cylinder_id, entry in history.since(after, cylinders=known.cylinders, kinds=KINDS):
        if before is not None and entry.at > before:
            break
        if len(found) == limit:
            return Page(tuple(found), after, more=True)
        event = _told(place, cylinder_id, entry, known)
        if event:
            found.append(event)
        after = place
    return Page(tuple(found), after, more=False)


@dataclass(frozen=True, slots=True)
class _Known:
    """The lab's records and runs by their numbers, and the cylinders that were sent to it."""

    cylinders: frozenset[int]
    records: Mapping[int, tuple[str, str]]
    runs: Mapping[int, str]


def _known(lab_id: int | None) -> _Known:
    only = {} if lab_id is None else {"lab_id": lab_id}
    runs = dict(Consignment.objects.filter(**only).values_list("pk", "lab__rin"))
    sent = ConsignmentLine.objects.filter(consignment__in=runs)
    records = TestRecord.objects.filter(**only).values_list("pk", "lab_reference", "lab__rin")
    return _Known(
        cylinders=frozenset(sent.values_list("work_order__cylinder_id", flat=True)),
        records={pk: (reference, rin) for pk, reference, rin in records},
        runs=runs,
    )


def _told(place: int, cylinder_id: int, entry: Entry, known: _Known) -> LabEvent | None:
    """The event as the lab is told of it; None where it is another lab's."""
    facts: Mapping[str, Any] = entry.facts
    if entry.kind in _RUNS:
        run = facts["consignment"]
        if run not in known.runs:
            return None
        name = _RUNS[entry.kind]
        return LabEvent(place, name, entry.at, cylinder_id, None, run, known.runs[run])
    if facts["record"] not in known.records:
        return None
    name = _RECORDS.get(entry.kind) or f"record.{facts['state']}"
    reference, rin = known.records[facts["record"]]
    return LabEvent(place, name, entry.at, cylinder_id, reference, None, rin)
