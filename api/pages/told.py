"""What a page tells a person who has just done something: shape, word and sentence."""

from dataclasses import dataclass
from enum import StrEnum

from cylinders.rules.refusal import Refused


class Tone(StrEnum):
    """How it is shown; the names are those of a rule's outcome, so that one style serves both."""

    OK = "ok"
    CAUTION = "caution"
    UNKNOWN = "unknown"
    FAIL = "fail"


@dataclass(frozen=True, slots=True)
class Told:
    """One answer; ``word`` is the one to be read across the room, empty for a plain line.

    ``goto`` is the page that shows it.
    """

    says: str
    goto: str = ""
    tone: Tone = Tone.OK
    word: str = ""
    cites: str = ""


def refusal(refused: Refused) -> Told:
    """A refusal as pages show it."""
    return Told(refused.says, tone=Tone.FAIL, cites=refused.cites)
