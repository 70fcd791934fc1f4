"""What came off, and where it went."""

from dataclasses import dataclass
from typing import ClassVar

from cylinders.facts.kinds import Facts, Kind


@dataclass(frozen=True, slots=True)
class PartRemoved(Facts):
    """One part came off; ``shared_with`` is the other cylinder of a twin set."""

    kind: ClassVar[Kind] = Kind.PART_REMOVED
    work_order: int
    part: int
    part_kind: str
    name: str
    thread: str = ""
    outlet: str = ""
    serial: str = ""
    oxygen_clean: bool = False
    condition: str = ""
    shared_with: int | None = None


@dataclass(frozen=True, slots=True)
class PartServiced(Facts):
    """A valve was serviced."""

    kind: ClassVar[Kind] = Kind.PART_SERVICED
    work_order: int
    part: int
    o_rings: str
    lubricant: str
    oxygen_compatible: bool
    hand_wheel: str
    month: str


@dataclass(frozen=True, slots=True)
class PartFitted(Facts):
    """A part went back onto its own cylinder."""

    kind: ClassVar[Kind] = Kind.PART_FITTED
    work_order: int
    part: int


@dataclass(frozen=True, slots=True)
class PartUnfitted(Facts):
    """A fitted part came off again and is back in its bag."""

    kind: ClassVar[Kind] = Kind.PART_UNFITTED
    work_order: int
    part: int


@dataclass(frozen=True, slots=True)
class PartRefused(Facts):
    """A scan at reassembly was refused; ``code`` as matching rules name it."""

    kind: ClassVar[Kind] = Kind.PART_REFUSED
    work_order: int
    code: str
    scanned: str
    part: int | None = None
    belongs_to: int | None = None


@dataclass(frozen=True, slots=True)
class PartAccounted(Facts):
    """A part will not be fitted, and somebody answered for it."""

    kind: ClassVar[Kind] = Kind.PART_ACCOUNTED
    work_order: int
    part: int
    how: str
    note: str


@dataclass(frozen=True, slots=True)
class Reassembled(Facts):
    """Every part is fitted or accounted for."""

    kind: ClassVar[Kind] = Kind.REASSEMBLED
    work_order: int
    fitted: list[int]
    accounted: list[int]
