"""Whether anything is sent: a restored copy is disarmed until a person has looked and armed it."""

from pathlib import Path

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS

from cylinders.models import Shop


def is_armed() -> bool:
    """Whether messages and calls go out."""
    return not Shop.objects.filter(notices_paused=True).exists()


def disarm(*, using: str = DEFAULT_DB_ALIAS) -> None:
    """Send nothing from now on; a house that has not entered itself yet gets a row to say so."""
    shops = Shop.objects.using(using)
    if not shops.update(notices_paused=True):
        shops.create(name="", notices_paused=True)


def arm() -> bool:
    """Send again; returns whether it was disarmed."""
    return bool(Shop.objects.filter(notices_paused=True).update(notices_paused=False))


def unfinished() -> Path:
    """The mark of a restore that has not ended well; while it stands no command but it runs."""
    return Path(settings.VAR_DIR) / "restore-unfinished"
