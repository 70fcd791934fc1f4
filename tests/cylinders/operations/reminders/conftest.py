"""What the tests of reminders share by name."""

from tests.cylinders.operations.reminders.cast import post_office

__all__ = ["post_office"]
