"""The one door to the event table: lock a cylinder, append to its history, tell it, verify it.

Each event's canonical text names the digest of the event before it, so a changed, removed or
swapped event breaks the chain of its cylinder. What this proves: nothing was altered since the
digests were last seen outside this database. What it does not: that an entry was true when made.
"""

import datetime as dt
import hashlib
import json
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import orjson
from django.db import connection, transaction

from cylinders import chain, story
from cylinders.chain import canonical, digest_of
from cylinders.facts import Actor, Facts, Kind
from cylinders.models import Cylinder, set_at_once
from cylinders.models.history import ServiceEvent

__all__ = [
    "Entry",
    "append",
    "append_many",
    "canonical",
    "chain_problems",
    "digest_of",
    "digest_of_value",
    "events_held",
    "export",
    "lock",
    "quick_problems",
    "sealed",
    "since",
    "state",
    "timeline",
]

_VERSION = 1
_LEAF, _AT_ONCE = b"\x00", 5_000  # as in the chain's file; events fetched where all are read
_AS_CANONICAL = (
    orjson.OPT_SORT_KEYS | orjson.OPT_PASSTHROUGH_DATETIME | orjson.OPT_PASSTHROUGH_DATACLASS
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One event as pages and rules read it."""

    sequence: int
    kind: Kind
    at: dt.datetime
    by: str
    facts: Mapping[str, Any]
    digest: str


def lock(cylinder_id: int) -> Cylinder:
    """Return the cylinder with its row locked until the transaction ends.

    Every operation begins here, so two people at one cylinder take turns. Raises
    ``Cylinder.DoesNotExist``; must run inside ``transaction.atomic``.
    """
    return Cylinder.objects.select_for_update().get(pk=cylinder_id)


def append(cylinder: Cylinder, facts: Facts, *, at: dt.datetime, by: Actor) -> Entry:
    """Add one event to the history of a cylinder that the caller has locked.

    ``at`` is when it happened (with a zone); ``by`` is who did it. Changes ``events_held`` and
    ``head`` of the cylinder. Must run inside ``transaction.atomic``.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("an event is written in the transaction of its operation; open one")
    event = _next(cylinder, facts, at=at, by=by)
    event.save(force_insert=True)
    cylinder.save(update_fields=["events_held", "head"])
    return _entry(event)


def append_many(
    pairs: Iterable[tuple[Cylinder, Facts]],
    *,
    changed: Sequence[str] = (),
    at: dt.datetime,
    by: Actor,
) -> None:
    """Add one event for each pair, in their order: the same rows as :func:`append` one by one.

    The caller has locked the cylinders. Their columns ``changed`` are stored together with their
    heads: two statements in all, however many events. Must run inside ``transaction.atomic``.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("events are written in the transaction of their operation; open one")
    cylinders: dict[int, Cylinder] = {}
    events: list[ServiceEvent] = []
    for cylinder, facts in pairs:
        cylinders[cylinder.pk] = cylinder
        events.append(_next(cylinder, facts, at=at, by=by))
    set_at_once.insert(events)
    set_at_once.store(list(cylinders.values()), ["events_held", "head", *changed])


def _next(cylinder: Cylinder, facts: Facts, *, at: dt.datetime, by: Actor) -> ServiceEvent:
    """The next event of a cylinder, not stored yet; its head moves on."""
    sequence = cylinder.events_held + 1
    text, digest = sealed(
        {
            "v": _VERSION,
            "cylinder": cylinder.pk,
            "sequence": sequence,
            "kind": facts.kind.value,
            "at": at.astimezone(dt.UTC).isoformat(timespec="microseconds"),
            "by": str(by),
            "facts": facts.as_dict(),
            "previous": cylinder.head,
        },
    )
    event = ServiceEvent(
        cylinder=cylinder,
        sequence=sequence,
        kind=facts.kind.value,
        happened_at=at,
        actor=str(by),
        canonical=text,
        digest=digest,
    )
    cylinder.events_held, cylinder.head = sequence, event.digest
    return event


def sealed(content: Mapping[str, Any]) -> tuple[str, str]:
    """The canonical text of ``content`` (without floats) and its digest, as in the chain's file.

    That file needs nothing but Python; this is the same for those who write much.
    """
    try:
        raw = orjson.dumps(content, option=_AS_CANONICAL)
    except TypeError:  # whole numbers over 64 bits, halves of signs: the plain way knows what to do
        text = canonical(content)
        return text, digest_of(text)
    text = raw.decode()
    if text.isascii():
        return text, hashlib.sha256(_LEAF + raw).hexdigest()
    text = unicodedata.normalize("NFC", text)
    return text, digest_of(text)


def digest_of_value(content: Mapping[str, Any]) -> str:
    """The digest under which an event names a JSON value that is stored beside it."""
    return sealed(content)[1]


def timeline(cylinder_id: int) -> list[Entry]:
    """Every event of one cylinder, oldest first."""
    return [_entry(event) for event in _events(cylinder_id)]


def since(
    place: int,
    *,
    cylinders: Collection[int] | None,
    kinds: Collection[Kind],
) -> Iterator[tuple[int, int, Entry]]:
    """``(place, cylinder, entry)`` of these cylinders and kinds behind a place, in order of place.

    None means every cylinder. A place is a whole number that only grows; it means nothing else.
    """
    kept = [kind.value for kind in kinds]
    rows = ServiceEvent.objects.filter(pk__gt=place, kind__in=kept).order_by("pk")
    rows = rows if cylinders is None else rows.filter(cylinder__in=cylinders)
    return ((row.pk, row.cylinder_id, _entry(row)) for row in rows.iterator())


def last_place(*, before: dt.datetime) -> int:
    """The place of the last event that happened by then; 0 where there is none."""
    rows = ServiceEvent.objects.filter(happened_at__lte=before).order_by("-pk")
    return rows.values_list("pk", flat=True).first() or 0


def settled_place() -> int:
    """The last place behind which no event can come any more in front of it; 0 without events.

    PostgreSQL numbers an event before it commits. The lock, which waits for those who are writing
    and keeps nobody out for longer than this reading, makes sure that none is still on its way.
    """
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("LOCK TABLE cylinders_serviceevent IN SHARE MODE")
        place = ServiceEvent.objects.order_by("-pk").values_list("pk", flat=True).first()
    return place or 0


def digests(*, until: int | None = None, using: str = "default") -> Iterator[bytes]:
    """The digest of every event up to a place (None: all) of a database, in order of place."""
    rows = ServiceEvent.objects.using(using).order_by("pk")
    rows = rows if until is None else rows.filter(pk__lte=until)
    return map(bytes.fromhex, rows.values_list("digest", flat=True).iterator(chunk_size=10_000))


def state(cylinder_id: int) -> story.State:
    """The state that follows from the history alone."""
    return story.tell((entry.kind, entry.facts) for entry in timeline(cylinder_id))


def chain_problems(cylinder: Cylinder) -> Iterator[str]:
    """Each break in the chain of one cylinder, as a sentence; nothing when it is whole."""
    rows = list(_events(cylinder.pk))
    for row in rows:
        if not _columns_agree(row):
            where = f"cylinder {cylinder.pk}, event {row.sequence}"
            yield f"{where}: its columns no longer say what its hashed text says"
    events = [chain.Event(row.canonical, row.digest) for row in rows]
    yield from chain.problems(events, [_head(cylinder)])


def quick_problems() -> Iterator[str]:
    """Each break in any chain, in one pass over all events: digests, links, counts and heads.

    It reads the hashed texts alone; :func:`chain_problems` compares the columns beside them too.
    Where a chain does not come out whole, that slower look says what is wrong with it.
    """
    ends = _ends()
    end = next(ends, None)
    rows = Cylinder.objects.order_by("pk").values_list("pk", "events_held", "head")
    for number, events, head in rows.iterator(chunk_size=_AT_ONCE):
        told = (0, "")
        if end is not None and end[0] == number:
            told, end = end[1:], next(ends, None)
        if told != (events, head):
            yield from chain_problems(Cylinder.objects.get(pk=number))


def _ends() -> Iterator[tuple[int, int, str]]:
    """For each cylinder with events: number, count and last digest; -1 events if it is broken."""
    at, count, last, place = 0, 0, "", ""
    rows = ServiceEvent.objects.order_by("cylinder_id", "sequence")
    wanted = rows.values_list("cylinder_id", "canonical", "digest")
    for cylinder, text, digest in wanted.iterator(chunk_size=_AT_ONCE):
        if cylinder != at:
            if at:
                yield at, count, last
            at, count, last, place = cylinder, 0, "", f'","cylinder":{cylinder},"facts":'
        # In canonical order these stand at the top level: the first such words, and the last ones.
        fits = (
            text.endswith(f'"previous":"{last}","sequence":{count + 1},"v":{_VERSION}}}')
            and text.find('","cylinder":') == text.find(place)
            and digest == hashlib.sha256(_LEAF + text.encode()).hexdigest()
        )
        count = count + 1 if fits and count >= 0 else -1
        last = digest
    if at:
        yield at, count, last


def export() -> Iterator[str]:
    """Every event and head as lines that ``cylinders.chain`` checks by itself."""
    rows = ServiceEvent.objects.order_by("cylinder_id", "sequence").iterator()
    heads = [_head(cylinder) for cylinder in Cylinder.objects.order_by("pk")]
    return chain.write((chain.Event(row.canonical, row.digest) for row in rows), heads)


def events_held() -> int:
    """How many events there are in all."""
    return ServiceEvent.objects.count()


def _head(cylinder: Cylinder) -> chain.Head:
    return chain.Head(cylinder.pk, cylinder.events_held, cylinder.head)


def _events(cylinder_id: int) -> Iterator[ServiceEvent]:
    return ServiceEvent.objects.filter(cylinder_id=cylinder_id).order_by("sequence").iterator()


def _columns_agree(event: ServiceEvent) -> bool:
    try:
        text = json.loads(event.canonical)
    except ValueError:
        return False
    at = event.happened_at.astimezone(dt.UTC).isoformat(timespec="microseconds")
    columns = (event.cylinder_id, event.sequence, event.kind, at, event.actor)
    names = ("cylinder", "sequence", "kind", "at", "by")
    return columns == tuple(text.get(name) for name in names)


def _entry(event: ServiceEvent) -> Entry:
    return Entry(
        sequence=event.sequence,
        kind=Kind(event.kind),
        at=event.happened_at,
        by=event.actor,
        facts=json.loads(event.canonical)["facts"],
        digest=event.digest,
    )
