"""A statement of the database that fails, at a place that the test chooses."""

from collections.abc import Callable
from typing import Any

from django.db import OperationalError

#: What only marks a transaction is let through: a database that cannot roll back is another story.
_MARKS = ("SAVEPOINT", "RELEASE", "ROLLBACK")


class FailsAt:
    """Lets n - 1 statements through and refuses the n-th; for ``connection.execute_wrapper``."""

    def __init__(self, number: int) -> None:
        self.left = number

    @property
    def came_to_it(self) -> bool:
        """Whether there were that many statements."""
        return self.left <= 0

    def __call__(self, execute: Callable[..., Any], *args: Any) -> Any:
        if args[0].startswith(_MARKS):
            return execute(*args)
        self.left -= 1
        if self.left == 0:
            raise OperationalError("the disk is full")
        return execute(*args)
