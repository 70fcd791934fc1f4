"""Tags, reminders and links: how a cylinder is found and its owner reached."""

from dataclasses import dataclass
from typing import ClassVar

from cylinders.facts.kinds import Facts, Kind


@dataclass(frozen=True, slots=True)
class TagBound(Facts):
    """A printed code was fixed to this cylinder or to one of its parts."""

    kind: ClassVar[Kind] = Kind.TAG_BOUND
    code: str
    tag_kind: str
    part: int | None = None
    replaces: str = ""


@dataclass(frozen=True, slots=True)
class TagRetired(Facts):
    """A code no longer stands for anything, and is never given again."""

    kind: ClassVar[Kind] = Kind.TAG_RETIRED
    code: str
    reason: str


@dataclass(frozen=True, slots=True)
class NoticeSent(Facts):
    """A reminder went out."""

    kind: ClassVar[Kind] = Kind.NOTICE_SENT
    notice: int
    duty: str
    due: str
    channel: str


@dataclass(frozen=True, slots=True)
class NoticeUnsure(Facts):
    """A reminder may or may not have gone out before a crash."""

    kind: ClassVar[Kind] = Kind.NOTICE_UNSURE
    notice: int
    duty: str
    due: str
    channel: str


@dataclass(frozen=True, slots=True)
class RecallTold(Facts):
    """The owner was told that a test of this cylinder stands on something found to be wrong."""

    kind: ClassVar[Kind] = Kind.RECALL_TOLD
    letter: int
    records: list[int]
    how: str


@dataclass(frozen=True, slots=True)
class LinkIssued(Facts):
    """The owner was given a link to the story of this cylinder."""

    kind: ClassVar[Kind] = Kind.LINK_ISSUED
    link: int
    expires: str


@dataclass(frozen=True, slots=True)
class LinkRevoked(Facts):
    """A link no longer opens anything."""

    kind: ClassVar[Kind] = Kind.LINK_REVOKED
    link: int
    reason: str
