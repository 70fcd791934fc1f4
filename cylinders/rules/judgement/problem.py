"""What makes a body unusable: each problem with the place it was found (RFC 6901 pointer)."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong: ``pointer`` ("/hold_seconds", "" for the whole), a stable ``code``, words.

    ``says`` tells what was wrong and what to send instead.
    """

    pointer: str
    code: str
    says: str

    def __str__(self) -> str:
        """One line for a person."""
        return f"{self.pointer or '(body)'}: {self.says}"


class UnusableBody(ValueError):
    """Raised when a body cannot be judged; ``problems`` holds all of them, never none."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("; ".join(map(str, problems)))
        self.problems = problems
