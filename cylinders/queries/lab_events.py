"""What happened that one lab should know of, since a place in the history."""

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
    """One thing that happened; ``reference`` names a record, ``consignment`` a run."""

    place: int
    type: str
    at: dt.datetime
    cylinder_id: int
    reference: str | None
    consignment: int | None


@dataclass(frozen=True, slots=True)
class Page:
    """Events in the order of their places, and the place from which to ask the next time."""

    events: tuple[LabEvent, ...]
    after: int
    more: bool


def page(*, lab_id: int, after: int, limit: int, before: dt.datetime | None) -> Page:
    """At most ``limit`` events of that lab behind the place ``after``.

    ``before`` leaves out what is so young that an earlier event may still be on its way into the
    table; None where the database writes one after the other.
    """
    sent = ConsignmentLine.objects.filter(consignment__lab_id=lab_id)
    cylinders = set(sent.values_list("work_order__cylinder_id", flat=True))
    records = dict(TestRecord.objects.filter(lab_id=lab_id).values_list("pk", "lab_reference"))
    runs = set(Consignment.objects.filter(lab_id=lab_id).values_list("pk", flat=True))
    found: list[LabEvent] = []
    for place, cylinder_id, entry in history.since(after, cylinders=cylinders, kinds=KINDS):
        if before is not None and entry.at > before:
            break
        if len(found) == limit:
            return Page(tuple(found), after, more=True)
        event = _told(place, cylinder_id, entry, records, runs)
        if event:
            found.append(event)
        after = place
    return Page(tuple(found), after, more=False)


def _told(
    place: int,
    cylinder_id: int,
    entry: Entry,
    records: Mapping[int, str],
    runs: set[int],
) -> LabEvent | None:
    """The event as that lab is told of it; None where it is another lab's."""
    facts: Mapping[str, Any] = entry.facts
    if entry.kind in _RUNS:
        if facts["consignment"] not in runs:
            return None
        name, reference, consignment = _RUNS[entry.kind], None, facts["consignment"]
    else:
        if facts["record"] not in records:
            return None
        name = _RECORDS.get(entry.kind) or f"record.{facts['state']}"
        reference, consignment = records[facts["record"]], None
    return LabEvent(place, name, entry.at, cylinder_id, reference, consignment)
