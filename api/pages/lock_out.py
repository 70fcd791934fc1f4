"""Guessing passwords is slow: after some wrong tries the door stays shut for a quarter of an hour.

Counted for a name from one address, for a name from anywhere, and for an address whatever the name;
a shop behind one address has room for its slips of the finger. Rows are counted in the database, so
every process of the service counts alike, and a shut door says nothing about whether the name is
known. OWASP ASVS 5.0.0, 6.3.1 asks for such a control; the figures are the house's own.
"""

import datetime as dt
import hashlib

from api.models import FailedSignIn

WINDOW = dt.timedelta(minutes=15)
MOST_OF_NAME_HERE = 5
MOST_OF_NAME = 20
MOST_FROM_ADDRESS = 40
_LONGEST_ADDRESS = 45


def is_shut(*, name: str, address: str, at: dt.datetime) -> bool:
    """Whether no try is taken now, right or wrong."""
    recent = FailedSignIn.objects.filter(at__gt=at - WINDOW)
    of_name = recent.filter(name=_digest(name))
    return (
        of_name.filter(address=_cut(address)).count() >= MOST_OF_NAME_HERE
        or of_name.count() >= MOST_OF_NAME
        or recent.filter(address=_cut(address)).count() >= MOST_FROM_ADDRESS
    )


def count_wrong(*, name: str, address: str, at: dt.datetime) -> None:
    """Count a wrong try, and forget what is too old to count."""
    FailedSignIn.objects.filter(at__lte=at - WINDOW).delete()
    FailedSignIn.objects.create(name=_digest(name), address=_cut(address), at=at)


def forget(*, name: str, address: str) -> None:
    """A right password from this address clears its own wrong tries, and nobody else's."""
    FailedSignIn.objects.filter(name=_digest(name), address=_cut(address)).delete()


def _digest(name: str) -> str:
    return hashlib.sha256(name.strip().casefold().encode()).hexdigest()


def _cut(address: str) -> str:
    return address[:_LONGEST_ADDRESS]
