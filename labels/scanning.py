"""From what was scanned to the thing it names, or to a refusal that says what it was instead."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from enum import StrEnum

from django.db.models import QuerySet

from cylinders import history
from cylinders.models import Cylinder, Part, WorkOrder
from cylinders.rules.wording import say
from labels import codes
from labels.models import Tag, TagState

_MOST_HOPS = 100


class ScanState(StrEnum):
    """What the tag behind a code is."""

    LIVE = "live"
    BLANK = "blank"
    RETIRED = "retired"
    SPOILED = "spoiled"


@dataclass(frozen=True, slots=True)
class Named:
    """A code that a tag bears.

    ``cylinder``, ``part`` and ``work_order`` are what it is bound to, None on a blank one.
    ``successor`` is the live tag at the end of the line of replacements, if there is one.
    """

    tag: Tag
    state: ScanState
    cylinder: Cylinder | None
    part: Part | None
    work_order: WorkOrder | None
    successor: Tag | None = None

    @property
    def kind(self) -> str:
        """What the tag is printed for: cylinder, teardown, bag or kit; empty on a blank one."""
        return self.tag.kind


@dataclass(frozen=True, slots=True)
class Unnamed:
    """No tag of ours: ``reason`` as :func:`labels.codes.extract` names it, or "unknown".

    ``shown`` is what arrived, to be shown as text; ``maybe`` are live codes a look-alike away.
    """

    reason: str
    says: str
    shown: str
    maybe: tuple[str, ...] = ()


_STATES = {
    TagState.MINTED: ScanState.BLANK,
    TagState.LIVE: ScanState.LIVE,
    TagState.RETIRED: ScanState.RETIRED,
    TagState.SPOILED: ScanState.SPOILED,
}


def identify(text: str, *, hosts: Collection[str]) -> Named | Unnamed:
    """Say what ``text``, scanned or typed, names; ``hosts`` are the names that our tags bear.

    Never follows, completes or mends anything: a code a look-alike away is only offered, and only
    when a tag bears it.
    """
    found = codes.extract(text, hosts)
    if isinstance(found, codes.Refused):
        return Unnamed(found.reason, found.says, found.shown, _existing(found.maybe))
    tag = _tags().filter(code=found.code).first()
    if tag is None:
        says = say(
            "No tag of this house has the code {show}. Read it again; if it is right, "
            "ask before you go on.",
            show=codes.show(found.code),
        )
        return Unnamed("unknown", says, found.shown)
    return Named(
        tag=tag,
        state=_STATES[TagState(tag.state)],
        cylinder=tag.cylinder,
        part=tag.part,
        work_order=tag.work_order,
        successor=_successor(tag),
    )


def tag_problems() -> Iterator[str]:
    """Each tag whose row does not say what the histories say of it, as a sentence."""
    told: dict[str, tuple[str, int | None, int | None, str]] = {}
    for cylinder in Cylinder.objects.order_by("pk").iterator():
        for code, (kind, part, live) in history.state(cylinder.pk).tags.items():
            state = TagState.LIVE if live else TagState.RETIRED
            told[code] = (kind, part, cylinder.pk, state)
    for tag in Tag.objects.order_by("pk").iterator():
        stored = (tag.kind, tag.part_id, tag.cylinder_id, tag.state)
        # No history speaks of a tag before it is bound: it is blank, or spoiled in printing.
        unbound = TagState.SPOILED if tag.state == TagState.SPOILED else TagState.MINTED
        expected = told.pop(tag.code, ("", None, None, unbound))
        if stored != expected:
            yield say(
                "tag {code}: stored as {stored}, but the history says {expected}",
                code=tag.code,
                stored=stored,
                expected=expected,
            )
    for code in told:
        yield say("tag {code}: the history binds it, but there is no such tag", code=code)


def _tags() -> QuerySet[Tag]:
    return Tag.objects.select_related(
        "cylinder",
        "part__cylinder",
        "work_order",
        "successor",
    )


def _existing(maybe: tuple[str, ...]) -> tuple[str, ...]:
    live = Tag.objects.filter(code__in=maybe, state=TagState.LIVE)
    return tuple(sorted(live.values_list("code", flat=True)))


def _successor(tag: Tag) -> Tag | None:
    following = tag.successor
    for _ in range(_MOST_HOPS):
        if following is None or following.successor is None:
            break
        following = following.successor
    return following
