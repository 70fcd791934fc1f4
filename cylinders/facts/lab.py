"""To the lab and back, and what the lab found."""

from dataclasses import dataclass
from typing import ClassVar

from cylinders.facts.kinds import Facts, Kind


@dataclass(frozen=True, slots=True)
class Packed(Facts):
    """Scanned into a consignment."""

    kind: ClassVar[Kind] = Kind.PACKED
    work_order: int
    consignment: int


@dataclass(frozen=True, slots=True)
class Sent(Facts):
    """Left for the lab with a named carrier."""

    kind: ClassVar[Kind] = Kind.SENT
    work_order: int
    consignment: int
    lab: int
    carrier: str


@dataclass(frozen=True, slots=True)
class Unpacked(Facts):
    """Taken out of a consignment again before it left."""

    kind: ClassVar[Kind] = Kind.UNPACKED
    work_order: int
    consignment: int


@dataclass(frozen=True, slots=True)
class Returned(Facts):
    """Came home and was scanned in."""

    kind: ClassVar[Kind] = Kind.RETURNED
    work_order: int
    consignment: int


@dataclass(frozen=True, slots=True)
class ReturnUndone(Facts):
    """It had been scanned in by mistake: it is still at the lab."""

    kind: ClassVar[Kind] = Kind.RETURN_UNDONE
    work_order: int
    consignment: int


@dataclass(frozen=True, slots=True)
class RecordAttached(Facts):
    """A lab's test record was judged and belongs to this cylinder from now on.

    ``body_sha256`` is the digest of the body exactly as stored, ``answer_sha256`` that of the
    judgement in its canonical text; ``verdict`` is the service's own. ``daily_check`` is
    the reported check that it leans on, ``check_sha256`` the digest of its body.
    """

    kind: ClassVar[Kind] = Kind.RECORD_ATTACHED
    work_order: int | None
    record: int
    lab: int
    lab_reference: str
    rin: str
    tested_on: str
    method: str
    verdict: str
    percent_permanent: str
    month: str
    symbol: str
    body_sha256: str
    answer_sha256: str
    supersedes: int | None = None
    decided: str = ""
    thread_examined: bool = False
    daily_check: int | None = None
    check_sha256: str = ""


@dataclass(frozen=True, slots=True)
class RecordHeld(Facts):
    """A lab's test record contradicts something; a person decides."""

    kind: ClassVar[Kind] = Kind.RECORD_HELD
    work_order: int | None
    record: int
    lab: int
    lab_reference: str
    verdict: str
    why: list[str]
    body_sha256: str
    answer_sha256: str
    daily_check: int | None = None
    check_sha256: str = ""


@dataclass(frozen=True, slots=True)
class RecordRejudged(Facts):
    """What the lab reported later changed what a record comes to; ``because`` is its reference."""

    kind: ClassVar[Kind] = Kind.RECORD_REJUDGED
    record: int
    lab_reference: str
    verdict: str
    why: list[str]
    because: str
    answer_sha256: str
    daily_check: int | None = None
    check_sha256: str = ""


@dataclass(frozen=True, slots=True)
class LabReported(Facts):
    """The lab reported an inspection or the drying of this cylinder."""

    kind: ClassVar[Kind] = Kind.LAB_REPORTED
    work_order: int | None
    report: int
    lab: int
    lab_reference: str
    about: str
    day: str
    came: str
    why: list[str]
    body_sha256: str
    answer_sha256: str
    corrects: str = ""


@dataclass(frozen=True, slots=True)
class ReportSettled(Facts):
    """A correction or a void changed whether a report of the lab counts."""

    kind: ClassVar[Kind] = Kind.REPORT_SETTLED
    report: int
    lab_reference: str
    about: str
    state: str
    why: str


@dataclass(frozen=True, slots=True)
class RecordDismissed(Facts):
    """A held record was looked at and is not this cylinder's."""

    kind: ClassVar[Kind] = Kind.RECORD_DISMISSED
    record: int
    reason: str


@dataclass(frozen=True, slots=True)
class RecordSettled(Facts):
    """A correction or a void changed what a record counts for; the rest is what holds since then.

    ``state`` is that of the record; months are ``YYYY-MM``, empty where nothing is known.
    """

    kind: ClassVar[Kind] = Kind.RECORD_SETTLED
    record: int
    lab_reference: str
    state: str
    why: str
    requalified: str
    requalified_symbol: str
    requalified_rin: str
    last_thread_examination: str


@dataclass(frozen=True, slots=True)
class StampCompared(Facts):
    """The new stamp was typed in and held against the record."""

    kind: ClassVar[Kind] = Kind.STAMP_COMPARED
    work_order: int
    record: int | None
    typed: str
    agrees: bool
    differences: list[str]
