"""``manage.py history``: print every event as it was hashed, to be checked without this service."""

from typing import Any

from django.core.management.base import BaseCommand

from cylinders import history
from cylinders.queries.snapshot import snapshot


class Command(BaseCommand):
    help = "Print every event and head as lines; `python -m cylinders.chain FILE` checks them."

    def handle(self, *_args: Any, **_options: Any) -> None:
        with snapshot():  # heads and events of one moment, however slowly they are taken
            for line in history.export():
                self.stdout.write(line, ending="")
