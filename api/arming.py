"""Whether anything is sent: a restored copy is disarmed until a person has looked and armed it."""

from cylinders.models import Shop


def is_armed() -> bool:
    """Whether messages and calls go out; a house without a row for the shop has nothing to say."""
    return not Shop.objects.filter(notices_paused=True).exists()


def disarm() -> None:
    """Send nothing from now on."""
    Shop.objects.update(notices_paused=True)


def arm() -> bool:
    """Send again; returns whether it was disarmed."""
    return bool(Shop.objects.filter(notices_paused=True).update(notices_paused=False))
