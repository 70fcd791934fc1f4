"""How Python's collector of reference cycles works in a process of the service."""

import gc

#: Objects made and still there, before the collector looks: a file of a thousand records makes
#: more than a hundred thousand that stay until it is stored, and hardly a cycle.
_OBJECTS = 20_000


def settle_down() -> None:
    """Leave what stands now out of every later look, and look less often; once, after the start."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(_OBJECTS)
