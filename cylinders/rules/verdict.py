"""What a rule returns: an outcome, a stable code, a sentence for a technician and a citation.

The worst outcome wins and nothing unknown is ever counted as good:

>>> worst([Outcome.OK, Outcome.UNKNOWN, Outcome.CAUTION])
<Outcome.UNKNOWN: 'unknown'>
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Certainty(StrEnum):
    """How a figure came to be known; shown to the user wherever it is not ``READ``."""

    READ = "read"
    SECOND_HAND = "second-hand"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class Citation:
    """The clause a figure or a decision follows.

    ``source`` names the text ("49 CFR 180.205(i)(1)(iii)"), ``edition`` the edition that was
    read ("2019-10-01"), ``certainty`` how well it is known.
    """

    source: str
    edition: str = ""
    certainty: Certainty = Certainty.READ

    def __str__(self) -> str:
        """One line for a person: source, edition, and the certainty where it is not ``READ``."""
        edition = f" ({self.edition})" if self.edition else ""
        doubt = "" if self.certainty is Certainty.READ else f" [{self.certainty}]"
        return f"{self.source}{edition}{doubt}"


class Outcome(StrEnum):
    """What one check found. ``UNKNOWN`` is never as good as ``OK`` or ``CAUTION``."""

    OK = "ok"
    CAUTION = "caution"
    UNKNOWN = "unknown"
    FAIL = "fail"


_SEVERITY = {Outcome.OK: 0, Outcome.CAUTION: 1, Outcome.UNKNOWN: 2, Outcome.FAIL: 3}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a rule found: ``code`` for machines, ``says`` for people, ``cites`` the clause."""

    code: str
    outcome: Outcome
    says: str
    cites: Citation

    @property
    def passed(self) -> bool:
        """Whether this finding stands in the way of nothing (ok, or ok with a caution)."""
        return self.outcome in (Outcome.OK, Outcome.CAUTION)


def worst(outcomes: Iterable[Outcome]) -> Outcome:
    """Return the most severe of ``outcomes``; ``UNKNOWN`` when there is none to judge by."""
    return max(outcomes, key=_SEVERITY.__getitem__, default=Outcome.UNKNOWN)
