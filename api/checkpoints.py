"""A checkpoint: a signed line that stands for every event up to a place, kept by somebody else.

The chain of each cylinder shows a change in its middle. It cannot show that the newest events were
cut off, or that somebody with every right rewrote all of it: for that somebody outside has to keep
what was true. A checkpoint is that: the size and the root of a hash tree over all events, signed.

What it proves: no event up to its place was changed, taken out or put between since it was made.
What it does not: that what was entered was true, and anything about events after it.
"""

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from joserfc import jws
from joserfc.errors import JoseError
from joserfc.jwk import OKPKey

from api import signing_keys
from cylinders import history, merkle
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

ALGORITHM = "Ed25519"
_TYPE = "history-checkpoint"


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """What was signed: ``size`` events up to ``place``, the ``root`` of the tree over them."""

    origin: str
    size: int
    place: int
    root: bytes
    at: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """A checkpoint as it is handed over: its signed text, and the proof since an older one."""

    text: str
    since: int = 0
    proof: tuple[bytes, ...] = ()

    def dump(self) -> str:
        """As JSON text; :func:`load` reads it."""
        steps = [step.hex() for step in self.proof]
        return json.dumps({"checkpoint": self.text, "since": self.since, "proof": steps}, indent=1)


def load(text: str) -> Sheet:
    """Read what :meth:`Sheet.dump` wrote; raises :class:`Refused` (``not_a_checkpoint``)."""
    try:
        found = json.loads(text)
        steps = tuple(bytes.fromhex(step) for step in found["proof"])
        return Sheet(str(found["checkpoint"]), int(found["since"]), steps)
    except (ValueError, KeyError, TypeError) as problem:
        raise Refused(
            "not_a_checkpoint", say("That is no checkpoint of this service.")
        ) from problem


def make(*, at: dt.datetime, since: Checkpoint | None = None) -> Sheet:
    """Sign the history as it is; with ``since``, prove that it goes on from there.

    Raises :class:`Refused` (``history_differs``) where it does not go on from there.
    """
    place = history.settled_place()
    entries = list(history.digests(until=place))
    key = signing_keys.current(at=at)
    payload = {
        "origin": settings.PUBLIC_URL,
        "size": len(entries),
        "place": place,
        "root": merkle.tree_root(entries).hex(),
        "at": at.astimezone(dt.UTC).isoformat(timespec="seconds"),
    }
    header = {"alg": ALGORITHM, "kid": key.kid, "typ": _TYPE}
    text = jws.serialize_compact(header, history.canonical(payload), key, algorithms=[ALGORITHM])
    if since is None or since.size == 0:
        return Sheet(text)
    if problems(since, entries=entries):
        says = say("The history no longer begins as that checkpoint says. Run verify.")
        raise Refused("history_differs", says)
    proof = merkle.consistency_proof(since.size, entries)
    return Sheet(text, since.size, tuple(proof))


def check(text: str, keys: Mapping[str, OKPKey] | None = None) -> Checkpoint:
    """The checkpoint that ``text`` is; its signature is good by ``keys``, or by the service's own.

    Raises :class:`Refused`: ``unknown_key`` or ``not_genuine``.
    """
    try:
        headers = jws.extract_compact(text.encode()).headers()
        kid = str(headers.get("kid", ""))
        key = signing_keys.find(kid) if keys is None else keys.get(kid)
        if key is None or headers.get("typ") != _TYPE:
            says = say("That checkpoint was signed by a key that is not known here.")
            raise Refused("unknown_key", says)
        found: Any = json.loads(jws.deserialize_compact(text, key, algorithms=[ALGORITHM]).payload)
    except (JoseError, ValueError) as problem:
        says = say("That checkpoint was changed after it was signed, or was cut.")
        raise Refused("not_genuine", says) from problem
    return Checkpoint(
        found["origin"],
        found["size"],
        found["place"],
        bytes.fromhex(found["root"]),
        found["at"],
    )


def problems(checkpoint: Checkpoint, *, entries: list[bytes] | None = None) -> list[str]:
    """What the stored history no longer has of a checkpoint, as sentences; empty when all is there.

    ``entries`` are the digests of the whole history, where the caller has read them.
    """
    if entries is None:
        entries = list(history.digests(until=checkpoint.place))
    size = len(entries)
    if size < checkpoint.size:
        return [f"the checkpoint of {checkpoint.at} counts {checkpoint.size} events, here {size}"]
    if merkle.tree_root(entries[: checkpoint.size]) != checkpoint.root:
        return [f"the first {checkpoint.size} events are not those of the checkpoint"]
    return []
