"""Event kinds, who acts, and what all facts share."""

import dataclasses
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, ClassVar


class Kind(StrEnum):
    """Every kind of event, past tense."""

    RECEIVED = "cylinder:intake:received"
    PROVEN_EMPTY = "cylinder:teardown:proven_empty"
    PART_REMOVED = "part:teardown:removed"
    TORN_DOWN = "cylinder:teardown:finished"
    PACKED = "consignment:line:packed"
    UNPACKED = "consignment:line:unpacked"
    SENT = "consignment:out:sent"
    RETURNED = "consignment:in:returned"
    RETURN_UNDONE = "consignment:in:undone"
    RECORD_ATTACHED = "retest:record:attached"
    RECORD_HELD = "retest:record:held"
    RECORD_DISMISSED = "retest:record:dismissed"
    RECORD_SETTLED = "retest:record:settled"
    RECORD_REJUDGED = "retest:record:rejudged"
    LAB_REPORTED = "lab:report:received"
    REPORT_SETTLED = "lab:report:settled"
    STAMP_COMPARED = "retest:stamp:compared"
    INSPECTED = "inspection:result:recorded"
    SECOND_LOOKED = "inspection:second_look:recorded"
    PART_SERVICED = "part:service:done"
    OXYGEN_CLEANED = "cylinder:oxygen:cleaned"
    OXYGEN_CLEAN_BROKEN = "cylinder:oxygen:broken"
    PART_FITTED = "part:reassembly:fitted"
    PART_UNFITTED = "part:reassembly:unfitted"
    PART_REFUSED = "part:reassembly:refused"
    PART_ACCOUNTED = "part:reassembly:accounted"
    REASSEMBLED = "cylinder:reassembly:finished"
    FILLED = "fill:gas:filled"
    FILL_REFUSED = "fill:gas:refused"
    READY = "cylinder:handover:ready"
    COLLECTED = "cylinder:handover:collected"
    REJECTED = "cylinder:condemnation:rejected"
    CONDEMNED = "cylinder:condemnation:condemned"
    WITHDRAWN = "cylinder:visit:withdrawn"
    CORRECTED = "cylinder:correction:made"
    OWNER_CHANGED = "cylinder:owner:changed"
    TAG_BOUND = "tag:binding:bound"
    TAG_RETIRED = "tag:binding:retired"
    NOTICE_SENT = "notice:reminder:sent"
    RECALL_TOLD = "notice:recall:told"
    NOTICE_UNSURE = "notice:reminder:unsure"
    LINK_ISSUED = "customer:link:issued"
    LINK_REVOKED = "customer:link:revoked"
    FILE_ADDED = "file:addition:added"
    FILE_SHOWN = "file:owner:shown"
    FILE_ERASED = "file:bytes:erased"


@dataclass(frozen=True, slots=True)
class Actor:
    """Who did it: ``staff:3``, ``lab:2``, ``customer:7`` or ``service:sweep``; never a name."""

    kind: str
    ref: str

    @property
    def staff_id(self) -> int | None:
        """The number of the member of staff, or None for anybody else."""
        return int(self.ref) if self.kind == "staff" else None

    def __str__(self) -> str:
        """``kind:ref``, as it stands in the history."""
        return f"{self.kind}:{self.ref}"


@dataclass(frozen=True, slots=True)
class Facts:
    """What every event's facts share."""

    kind: ClassVar[Kind]

    def as_dict(self) -> dict[str, Any]:
        """The facts as JSON can hold them."""
        return {field.name: getattr(self, field.name) for field in dataclasses.fields(self)}
