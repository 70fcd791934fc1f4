"""Which O-rings a valve usually takes: by the thread at its neck and by its outlet.

Sizes are AS568 dash numbers as the trade names them, and all of them are from memory: a hint for
whoever looks for the right drawer, never an answer. The valve maker's sheet decides.

>>> [seal.size for seal in usual(thread="3/4-14 NPSM", outlet="yoke")]
['AS568-214', 'AS568-014']
>>> usual(thread="", outlet="")
()
"""

from dataclasses import dataclass

from cylinders.rules.verdict import Certainty, Citation

CITES = Citation("trade practice: AS568 sizes of scuba valves", "", Certainty.FROM_MEMORY)


@dataclass(frozen=True, slots=True)
class Seal:
    """One row: where it sits, what it follows from, its size; ``size`` is empty for none there."""

    where: str
    follows_from: str
    size: str


#: by the thread at the neck; a thread that is not listed is unknown, and nothing is said of it
NECKS = (Seal("neck", "3/4-14 NPSM", "AS568-214"),)
#: by the outlet
OUTLETS = (Seal("outlet", "yoke", "AS568-014"),)


def usual(*, thread: str, outlet: str) -> tuple[Seal, ...]:
    """The usual O-rings of a valve; nothing for what is unknown or not listed."""
    necks = (seal for seal in NECKS if seal.follows_from == thread)
    return (*necks, *(seal for seal in OUTLETS if seal.follows_from == outlet))
