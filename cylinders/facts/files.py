"""Photos, traces and papers; a file is named by the SHA-256 of its bytes."""

from dataclasses import dataclass
from typing import ClassVar

from cylinders.facts.kinds import Facts, Kind


@dataclass(frozen=True, slots=True)
class FileAdded(Facts):
    """A file came to the cylinder: ``file_kind`` and ``shows`` are words of the models' lists."""

    kind: ClassVar[Kind] = Kind.FILE_ADDED
    attachment: int
    sha256: str
    file_kind: str
    media_type: str
    shows: str
    work_order: int | None = None
    record: int | None = None
    inspection: int | None = None


@dataclass(frozen=True, slots=True)
class FileShown(Facts):
    """The shop chose whether the owner sees a file."""

    kind: ClassVar[Kind] = Kind.FILE_SHOWN
    attachment: int
    shown: bool


@dataclass(frozen=True, slots=True)
class FileErased(Facts):
    """The bytes of a file were erased because they may show a person who asked for it."""

    kind: ClassVar[Kind] = Kind.FILE_ERASED
    attachment: int
    sha256: str
