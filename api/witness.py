"""A witness: another machine, which keeps the last checkpoint and takes only what goes on from it.

It needs no database of the service, only its public keys: it is of use because it is elsewhere.
"""

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from joserfc.jwk import OKPKey

from api import checkpoints
from api.checkpoints import Checkpoint, Sheet
from cylinders import merkle
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say


def keys_of(key_set: Any) -> Mapping[str, OKPKey]:
    """The public keys of a key set (RFC 7517), by their names."""
    found = [OKPKey.import_key(one) for one in key_set["keys"]]
    return {str(key.kid): key for key in found}


def see(sheet: Sheet, *, kept: Path, keys: Mapping[str, OKPKey]) -> Checkpoint:
    """Take a newer checkpoint and keep it in the file ``kept``, or refuse it and keep the old one.

    Raises :class:`Refused`: ``shrunk`` for fewer events than before, ``forked`` for as many but
    others, ``not_consistent`` where it is not shown that the new history begins with the old one.
    """
    new = checkpoints.check(sheet.text, keys)
    if kept.exists():
        old = checkpoints.check(json.loads(kept.read_text())["checkpoint"], keys)
        _must_go_on(old, new, sheet)
    unfinished = kept.with_name(f".{kept.name}.{os.getpid()}")
    with unfinished.open("w") as file:
        file.write(sheet.dump())
        file.flush()
        os.fsync(file.fileno())
    unfinished.replace(kept)
    return new


def _must_go_on(old: Checkpoint, new: Checkpoint, sheet: Sheet) -> None:
    if new.origin != old.origin:
        says = say(
            "That is a checkpoint of {new}, here is kept one of {old}.",
            new=new.origin,
            old=old.origin,
        )
        raise Refused("other_origin", says)
    if new.size < old.size:
        says = say(
            "The history has shrunk from {old} to {new} events. Look into it.",
            old=old.size,
            new=new.size,
        )
        raise Refused("shrunk", says)
    if new.size == old.size and new.root != old.root:
        raise Refused("forked", say("As many events as before, but not the same. Look into it."))
    if old.size in (0, new.size):
        return
    shown = sheet.since == old.size and merkle.is_consistent(
        old.root, old.size, new.root, new.size, sheet.proof
    )
    if not shown:
        says = say(
            "It is not shown that these {new} events go on from the {old} kept here. "
            "Make the checkpoint with --since and the file kept here.",
            new=new.size,
            old=old.size,
        )
        raise Refused("not_consistent", says)
