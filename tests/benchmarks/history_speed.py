"""Writing and checking the chained history, against SHA-256 over bytes that lie ready.

"append" is what an event costs beside its commit: its canonical text and its digest. "check" is
one pass over all events in PostgreSQL, by a cursor: what ``verify --chains`` does. "alone" is the
one file that needs neither Django nor a database, over an export that has been read.
"""

import hashlib
import json
from collections.abc import Iterator, Sequence

from cylinders import chain, history
from cylinders.models import Cylinder
from cylinders.models.history import ServiceEvent
from tests.benchmarks import ground, world
from tests.benchmarks.runner import ROUNDS, Case, Result, Target, gate, race

CYLINDERS, EVENTS, WRITTEN = 5_000, 8, 200
FLOOR = "SHA-256 over the ready bytes"
#: bytes that a cylinder takes for each byte of what is hashed (text and digest): the proportion of
#: a plain table with its two indexes, measured with texts of 146 bytes
MOST_STORED = 1.95
#: 7.3 was measured, which was some 390,000 events a second; 50,000 are wanted
MOST_ALONE = 10.0
_HEAD = ("events_held", "head")


def run(rounds: int | None = None) -> Iterator[Result]:
    """Both targets on 40,000 events; then what they take on the disk."""
    with ground.database():
        world.fill(world.live_once(events=EVENTS), CYLINDERS)
        texts = list(ServiceEvent.objects.order_by("pk").values_list("canonical", flat=True))
        ready = [text.encode() for text in texts]
        contents = [json.loads(text) for text in texts[:WRITTEN]]
        yield from race(
            {
                FLOOR: Case(lambda: _hash(ready[:WRITTEN])),
                "append": Case(lambda: [history.sealed(one) for one in contents]),
            },
            [
                Target(
                    "history_append",
                    "append",
                    FLOOR,
                    2.5,
                    f"text and digest of {WRITTEN} events",
                    by="cpu",
                )
            ],
            rounds=rounds or ROUNDS,
        )
        events = [chain.Event(text, chain.digest_of(text)) for text in texts]
        heads = [chain.Head(*row) for row in Cylinder.objects.values_list("pk", *_HEAD)]
        yield from race(
            {
                FLOOR: Case(lambda: _hash(ready)),
                "check": Case(_checked),
                "alone": Case(lambda: _alone(events, heads)),
            },
            [
                Target(
                    "history_verify",
                    "check",
                    FLOOR,
                    4.0,
                    f"{len(ready)} events checked from PostgreSQL",
                    by="cpu",
                ),
                Target(
                    "history_alone",
                    "alone",
                    FLOOR,
                    MOST_ALONE,
                    f"{len(ready)} events checked by the one file without this service",
                    by="cpu",
                ),
            ],
            rounds=rounds or ROUNDS,
            slices=1,
        )
    with ground.database():
        yield _stored()


def _hash(ready: list[bytes]) -> None:
    for text in ready:
        hashlib.sha256(text).hexdigest()


def _checked() -> None:
    if problems := list(history.quick_problems()):
        raise RuntimeError(problems[0])


def _alone(events: Sequence[chain.Event], heads: Sequence[chain.Head]) -> None:
    if problems := list(chain.problems(events, heads)):
        raise RuntimeError(problems[0])


def _stored() -> Result:
    """Disk of 5,000 cylinders with 20 events, and parts, tag and visit, over what is hashed."""
    world.fill(world.live_once(events=20), CYLINDERS)
    hashed, whole = world.sizes()
    return gate(
        "history_stored",
        measured=whole / hashed,
        at_most=MOST_STORED,
        floor=f"texts and digests of its 20 events, {hashed / CYLINDERS / 1000:.1f} kB",
        what=f"disk a cylinder takes with its indexes: {whole / CYLINDERS / 1000:.1f} kB",
    )
