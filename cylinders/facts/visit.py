"""One visit from drop-off to collection."""

from dataclasses import asdict, dataclass, field
from typing import Any, ClassVar

from cylinders.facts.kinds import Facts, Kind


@dataclass(frozen=True, slots=True)
class Markings:
    """What identifies a cylinder, as decoded from its shoulder; empty text where not stamped.

    ``service_pressure`` is decimal text in ``pressure_unit`` ("psi" or "bar"). ``first_test``,
    ``requalified``, ``stamped_due`` (a next date that the stamp itself gives) and ``life_end`` (the
    end of a limited service life) are ``YYYY-MM``.
    """

    stamp_text: str
    authority: str = ""
    specification: str = ""
    permit: str = ""
    service_pressure: str = ""
    pressure_unit: str = "psi"
    serial: str = ""
    manufacturer_mark: str = ""
    material: str = ""
    alloy: str = ""
    neck_thread: str = ""
    first_test: str = ""
    requalified: str = ""
    requalified_symbol: str = ""
    requalified_rin: str = ""
    stamped_due: str = ""
    life_end: str = ""


@dataclass(frozen=True, slots=True)
class Received(Facts):
    """A cylinder was dropped off; ``new`` when the service had not met it before.

    ``decoded_sha256`` is the digest of the whole reading of its stamp, kept beside the markings.
    """

    kind: ClassVar[Kind] = Kind.RECEIVED
    work_order: int
    owner: int
    new: bool
    markings: Markings
    decoded_sha256: str
    services: list[str] = field(default_factory=list)
    last_visual: str = ""
    last_oxygen_clean: str = ""
    oxygen_clean: bool | None = None
    use_gas: str = "air"
    pressure_on_arrival: str = ""
    condition: str = ""
    condemned_by_marks: bool = False

    def as_dict(self) -> dict[str, Any]:
        """The facts as JSON can hold them, the markings by their names."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class ProvenEmpty(Facts):
    """Drained, and shown to be empty before the valve moved."""

    kind: ClassVar[Kind] = Kind.PROVEN_EMPTY
    work_order: int
    how: str


@dataclass(frozen=True, slots=True)
class TornDown(Facts):
    """Everything is off, the travel plug is in, the outside was looked over."""

    kind: ClassVar[Kind] = Kind.TORN_DOWN
    work_order: int
    outside: str
    travel_plug: bool


@dataclass(frozen=True, slots=True)
class Ready(Facts):
    """The customer may come."""

    kind: ClassVar[Kind] = Kind.READY
    work_order: int


@dataclass(frozen=True, slots=True)
class Collected(Facts):
    """Handed over to the owner or to someone the owner sent."""

    kind: ClassVar[Kind] = Kind.COLLECTED
    work_order: int
    to_owner: bool
    returned_parts: list[int] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Withdrawn(Facts):
    """The owner takes the cylinder back unfinished."""

    kind: ClassVar[Kind] = Kind.WITHDRAWN
    work_order: int
    reason: str


@dataclass(frozen=True, slots=True)
class Corrected(Facts):
    """A recorded marking was wrong; the old value stays in the history."""

    kind: ClassVar[Kind] = Kind.CORRECTED
    field: str
    was: str
    becomes: str
    reason: str


@dataclass(frozen=True, slots=True)
class OwnerChanged(Facts):
    """The cylinder belongs to somebody else."""

    kind: ClassVar[Kind] = Kind.OWNER_CHANGED
    was: int
    becomes: int
