"""What can happen to a cylinder: one event kind each, and the facts that are kept with it.

A kind reads ``subject:aspect:happened``. Facts are copied in as known at that moment and hold only
text, whole numbers, truth values, lists and mappings of these: quantities as decimal text with
their unit beside them, months as ``YYYY-MM``, people as numbers that point at erasable rows, never
as names. So the hashed history holds no personal data.
"""

from cylinders.facts.bench import (
    Condemned,
    Filled,
    FillRefused,
    Inspected,
    OxygenCleanBroken,
    OxygenCleaned,
    Rejected,
    SecondLooked,
)
from cylinders.facts.files import FileAdded, FileErased, FileShown
from cylinders.facts.kinds import Actor, Facts, Kind
from cylinders.facts.lab import (
    LabReported,
    Packed,
    RecordAttached,
    RecordDismissed,
    RecordHeld,
    RecordRejudged,
    RecordSettled,
    ReportSettled,
    Returned,
    ReturnUndone,
    Sent,
    StampCompared,
    Unpacked,
)
from cylinders.facts.parts import (
    PartAccounted,
    PartFitted,
    PartRefused,
    PartRemoved,
    PartServiced,
    PartUnfitted,
    Reassembled,
)
from cylinders.facts.reach import (
    LinkIssued,
    LinkRevoked,
    NoticeSent,
    NoticeUnsure,
    RecallTold,
    TagBound,
    TagRetired,
)
from cylinders.facts.visit import (
    Collected,
    Corrected,
    Markings,
    OwnerChanged,
    ProvenEmpty,
    Ready,
    Received,
    TornDown,
    Withdrawn,
)

__all__ = [
    "Actor",
    "Collected",
    "Condemned",
    "Corrected",
    "Facts",
    "FileAdded",
    "FileErased",
    "FileShown",
    "FillRefused",
    "Filled",
    "Inspected",
    "Kind",
    "LabReported",
    "LinkIssued",
    "LinkRevoked",
    "Markings",
    "NoticeSent",
    "NoticeUnsure",
    "OwnerChanged",
    "OxygenCleanBroken",
    "OxygenCleaned",
    "Packed",
    "PartAccounted",
    "PartFitted",
    "PartRefused",
    "PartRemoved",
    "PartServiced",
    "PartUnfitted",
    "ProvenEmpty",
    "Ready",
    "Reassembled",
    "RecallTold",
    "Received",
    "RecordAttached",
    "RecordDismissed",
    "RecordHeld",
    "RecordRejudged",
    "RecordSettled",
    "Rejected",
    "ReportSettled",
    "ReturnUndone",
    "Returned",
    "SecondLooked",
    "Sent",
    "StampCompared",
    "TagBound",
    "TagRetired",
    "TornDown",
    "Unpacked",
    "Withdrawn",
]
