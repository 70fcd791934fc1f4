"""A step that is refused: which rule of the house stands in the way, and what to do about it."""

from dataclasses import dataclass


@dataclass(slots=True)
class Refused(Exception):
    """Raised before anything is stored.

    ``code`` is stable and for machines; ``says`` tells a person what was wrong and what to do next;
    ``cites`` names the clause where one stands behind the refusal.
    """

    code: str
    says: str
    cites: str = ""

    def __str__(self) -> str:
        """The sentence for a person."""
        return self.says
