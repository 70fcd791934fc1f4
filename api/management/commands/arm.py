"""``arm``: let a restored copy send messages, once a person has looked at it."""

from typing import Any

from django.core.management.base import BaseCommand

from api import arming


class Command(BaseCommand):
    help = "Send reminders, news and calls again. Only one copy of a shop may be armed."

    def handle(self, *_: Any, **_options: Any) -> None:
        was = not arming.arm()
        self.stdout.write("It was armed already." if was else "Armed: what is due is sent now.")
