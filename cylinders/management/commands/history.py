"""``manage.py history``: print every event as it was hashed, to be checked without this service."""

from typing import Any

from django.core.management.base import BaseCommand
from django.db import transaction

from cylinders import history


class Command(BaseCommand):
    help = "Print every event and head as lines; `python -m cylinders.chain FILE` checks them."

    def handle(self, *_args: Any, **_options: Any) -> None:
        with transaction.atomic():  # one view of all, whatever is written meanwhile
            for line in history.export():
                self.stdout.write(line, ending="")
