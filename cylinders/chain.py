"""The chain of a cylinder's events, without a database: how it is hashed, and how it is checked.

    text      the event as JSON with sorted keys, no blanks, NFC; it names the digest before it
    digest    SHA-256 over one zero byte and the text
    head      the digest of the last event, kept with the cylinder
    seal      SHA-256 over every cylinder's number, count of events and head, in order

This one file checks an exported history by itself, with nothing but Python::

    python manage.py history > history.jsonl
    python -m cylinders.chain history.jsonl --seal HEX

What it proves: no event was changed, removed, added or moved within a chain. That the last events
were cut off, or everything was written anew, shows only against a seal that was noted elsewhere:
in print, by mail, at a partner's. It never proves that an entry was true when it was made.

>>> first = canonical({"cylinder": 1, "sequence": 1, "previous": ""})
>>> event = Event(first, digest_of(first))
>>> list(problems([event], [Head(1, 1, event.digest)]))
[]
>>> list(problems([Event(first.replace("1", "2", 1), event.digest)], [Head(1, 1, event.digest)]))[0]
'cylinder 2, event 1: its text no longer has the digest that was stored with it'
"""

import argparse
import hashlib
import json
import sys
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

_LEAF = b"\x00"


@dataclass(frozen=True, slots=True)
class Event:
    """One event as exported: the text that was hashed, and the digest stored with it."""

    text: str
    digest: str


@dataclass(frozen=True, slots=True)
class Head:
    """What a cylinder's row says of its history: how many events, and the last digest."""

    cylinder: int
    events: int
    digest: str


def canonical(content: Mapping[str, Any]) -> str:
    """The one JSON text of ``content``: sorted keys, no blanks, NFC text, no floats."""
    text = json.dumps(
        content,
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
        allow_nan=False,
    )
    return unicodedata.normalize("NFC", text)


def digest_of(text: str) -> str:
    """SHA-256 over a leaf prefix and the canonical text, in hexadecimal."""
    return hashlib.sha256(_LEAF + text.encode()).hexdigest()


def seal_of(heads: Iterable[Head]) -> str:
    """One digest for all histories as they stand; to be noted outside the database."""
    lines = sorted((head.cylinder, head.events, head.digest) for head in heads)
    text = "".join(f"{cylinder} {events} {digest}\n" for cylinder, events, digest in lines)
    return hashlib.sha256(text.encode()).hexdigest()


def problems(events: Iterable[Event], heads: Iterable[Head]) -> Iterator[str]:
    """Each break in any chain, as a sentence; ``events`` of one cylinder stand in their order."""
    stands: dict[int, tuple[int, str]] = {}
    for event in events:
        where, content = _place(event.text)
        if event.digest != digest_of(event.text):
            yield f"{where}: its text no longer has the digest that was stored with it"
        if content is None:
            yield f"{where}: its text cannot be read"
            continue
        count, previous = stands.get(content["cylinder"], (0, ""))
        if content["sequence"] != count + 1:
            yield f"{where}: event {count + 1} is missing"
        if content["previous"] != previous:
            yield f"{where}: it does not follow the event before it"
        stands[content["cylinder"]] = content["sequence"], event.digest
    for head in heads:
        last, digest = stands.pop(head.cylinder, (0, ""))
        if (last, digest) != (head.events, head.digest):
            yield (
                f"cylinder {head.cylinder}: its row counts {head.events} events, "
                f"its history ends with {last}"
            )
    for cylinder in stands:
        yield f"cylinder {cylinder}: it has events and no row"


def read(lines: Iterable[str]) -> tuple[list[Event], list[Head]]:
    """Events and heads out of an export; raises ``ValueError`` with the number of a bad line."""
    events: list[Event] = []
    heads: list[Head] = []
    for number, line in enumerate(lines, start=1):
        try:
            row = json.loads(line)
            if "text" in row:
                events.append(Event(str(row["text"]), str(row["digest"])))
            else:
                heads.append(Head(int(row["cylinder"]), int(row["events"]), str(row["head"])))
        except (KeyError, TypeError, ValueError) as problem:
            raise ValueError(f"line {number} is no line of an exported history") from problem
    return events, heads


def write(events: Iterable[Event], heads: Iterable[Head]) -> Iterator[str]:
    """The lines that :func:`read` reads, each ending in a line break."""
    for event in events:
        yield json.dumps({"text": event.text, "digest": event.digest}) + "\n"
    for head in heads:
        row = {"cylinder": head.cylinder, "events": head.events, "head": head.digest}
        yield json.dumps(row) + "\n"


def main(words: Sequence[str] | None = None) -> int:
    """Check the file that is named; 0 where nothing was found, 1 where something was."""
    asked = argparse.ArgumentParser(prog="chain", description="Check an exported history.")
    asked.add_argument("file", type=Path)
    asked.add_argument("--seal", help="the seal that was noted when the history stood so far")
    chosen = asked.parse_args(words)
    with chosen.file.open(encoding="utf-8") as lines:
        events, heads = read(lines)
    found = list(problems(events, heads))
    seal = seal_of(heads)
    if chosen.seal and chosen.seal != seal:
        found.append(f"The seal is {seal}, not the one that was noted: cut off, or written anew.")
    verdict = "nothing altered" if not found else f"{len(found)} problems"
    told = [*found, f"{len(heads)} cylinders, {len(events)} events: {verdict}. Seal: {seal}"]
    sys.stdout.write("\n".join(told) + "\n")
    return 1 if found else 0


def _place(text: str) -> tuple[str, dict[str, Any] | None]:
    """Where a text says that it stands, and its content; None where it cannot be read."""
    try:
        content = json.loads(text)
        cylinder, sequence = content["cylinder"], content["sequence"]
        known = isinstance(cylinder, int) and isinstance(sequence, int) and "previous" in content
    except (KeyError, TypeError, ValueError):
        return "an event", None
    where = f"cylinder {cylinder}, event {sequence}"
    return where, content if known else None


if __name__ == "__main__":
    sys.exit(main())
