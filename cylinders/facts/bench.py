"""Inspection, oxygen cleaning, filling, and the ends of a cylinder's life."""

from dataclasses import dataclass
from typing import ClassVar

from cylinders.facts.kinds import Facts, Kind


@dataclass(frozen=True, slots=True)
class Inspected(Facts):
    """Inside, outside and threads were inspected by a named standard."""

    kind: ClassVar[Kind] = Kind.INSPECTED
    work_order: int
    inspection: int
    standard: str
    internal: str
    external: str
    threads: str
    result: str
    month: str
    sticker_removed: bool
    notes: str = ""
    eddy_current: str = ""
    eddy_equipment: str = ""
    eddy_ring: str = ""


@dataclass(frozen=True, slots=True)
class SecondLooked(Facts):
    """Another person looked at an indication of the eddy current examination.

    ``seen`` is what they found, "clear" or "crack"; ``result`` is that of the inspection since.
    """

    kind: ClassVar[Kind] = Kind.SECOND_LOOKED
    work_order: int
    inspection: int
    seen: str
    result: str
    month: str
    notes: str


@dataclass(frozen=True, slots=True)
class OxygenCleaned(Facts):
    """The cylinder was cleaned for oxygen service."""

    kind: ClassVar[Kind] = Kind.OXYGEN_CLEANED
    work_order: int
    month: str
    method: str


@dataclass(frozen=True, slots=True)
class OxygenCleanBroken(Facts):
    """The cylinder no longer counts as clean for oxygen."""

    kind: ClassVar[Kind] = Kind.OXYGEN_CLEAN_BROKEN
    why: str


@dataclass(frozen=True, slots=True)
class Filled(Facts):
    """Filled with an analysed gas to a pressure; fractions and pressures as decimal text."""

    kind: ClassVar[Kind] = Kind.FILLED
    work_order: int
    fill: int
    oxygen_fraction: str
    pressure: str
    pressure_unit: str
    mod: str
    cautions: list[str]
    relief_is_disc: bool | None = None


@dataclass(frozen=True, slots=True)
class FillRefused(Facts):
    """A fill was asked for and refused; the codes of every reason at once."""

    kind: ClassVar[Kind] = Kind.FILL_REFUSED
    work_order: int
    oxygen_fraction: str
    pressure: str
    pressure_unit: str
    reasons: list[str]


@dataclass(frozen=True, slots=True)
class Rejected(Facts):
    """Not usable as it is: 49 CFR 180.205(h)."""

    kind: ClassVar[Kind] = Kind.REJECTED
    work_order: int | None
    reason: str


@dataclass(frozen=True, slots=True)
class Condemned(Facts):
    """Never usable again: 49 CFR 180.205(i)."""

    kind: ClassVar[Kind] = Kind.CONDEMNED
    work_order: int | None
    reason: str
    marked: str
