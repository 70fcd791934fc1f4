"""A phone that lay unused locks itself: what is done next must be done by whoever is named.

A locked session is opened by the person's PIN or password. What was filled in meanwhile is not
lost: the page that asks for the PIN carries it on, and the work goes on with it. Wrong tries count
at the same door as wrong passwords (:mod:`api.pages.lock_out`).
"""

import datetime as dt

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.contrib.auth.models import User
from django.contrib.sessions.backends.base import SessionBase
from django.http import QueryDict

from api.models import BenchPin

FIELD = "opens_with"
#: Says in a form that its files could not be carried on: a page has no way to send them again.
FILES_LOST = "files_lost"
_SEEN = "bench_seen"
#: The session is written at most this often, not at each page.
_STEP = dt.timedelta(minutes=1)


def idle_minutes() -> int:
    """How long a session may lie unused before it locks."""
    return int(settings.IDLE_MINUTES)


def is_locked(session: SessionBase, *, at: dt.datetime) -> bool:
    """Whether the session has lain unused for too long; a fresh one is open."""
    seen = session.get(_SEEN)
    return seen is not None and at - dt.datetime.fromisoformat(seen) > dt.timedelta(
        minutes=idle_minutes()
    )


def touch(session: SessionBase, *, at: dt.datetime) -> None:
    """Note that somebody is at work."""
    seen = session.get(_SEEN)
    if seen is None or at - dt.datetime.fromisoformat(seen) > _STEP:
        session[_SEEN] = at.isoformat()


def opens(user: User, text: str) -> bool:
    """Whether ``text`` is the PIN or the password of ``user``."""
    if not text:
        return False
    pin = BenchPin.objects.filter(user=user).first()
    if pin is not None and check_password(text, pin.digest):
        return True
    return user.check_password(text)


def set_pin(user: User, text: str, *, at: dt.datetime) -> None:
    """Give ``user`` a new PIN."""
    BenchPin.objects.update_or_create(
        user=user, defaults={"digest": make_password(text), "set_at": at}
    )


def carried_on(sent: QueryDict, *, files: bool) -> list[tuple[str, str]]:
    """What was filled in, as hidden fields; the page's own token and the PIN are left out.

    With ``files`` a field says that they have to be chosen again.
    """
    left_out = ("csrfmiddlewaretoken", FIELD)
    kept = [(name, value) for name in sent if name not in left_out for value in sent.getlist(name)]
    return [*kept, (FILES_LOST, "yes")] if files else kept
