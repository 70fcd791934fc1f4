"""``rotate_key``: make a new key that signs certificates from now on; old ones still check."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from api import signing_keys


class Command(BaseCommand):
    help = "Make a new key for certificates. What the old ones signed can still be checked."

    def handle(self, *_: Any, **_options: Any) -> None:
        key = signing_keys.rotate(at=timezone.now())
        count = len(signing_keys.public()["keys"])
        self.stdout.write(f"Key {key.kid} signs from now on; {count} keys are published.")
