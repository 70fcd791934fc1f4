"""Who of the shop may open which page and send which form: one table, asked at the door.

Two roles. An owner is a superuser of this installation, made by ``manage.py createsuperuser`` or by
another owner at ``/admin/``; every other member of staff is a technician. The table names each
route of the bench; a route that stands in none of its parts is for owners alone, so a page that
somebody forgot to enter is closed rather than open (OWASP ASVS 5.0.0, V8.2.1 and V16.5.3).
"""

import logging
from collections.abc import Mapping
from enum import StrEnum

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

_log = logging.getLogger("api.rights")


class Role(StrEnum):
    """What somebody is to the shop."""

    TECHNICIAN = "technician"
    OWNER = "owner"


ANY = frozenset(Role)
OWNERS = frozenset({Role.OWNER})

#: Pages for everybody who works at the bench, by the names of their routes.
_BENCH = (
    *("board", "wall", "find", "due", "months", "me", "scan", "intake", "reading"),
    *("tag", "tag-picture", "labels", "label-run", "label-run-print"),
    *("cylinder", "owner-links", "photos", "file", "receive-again", "held", "record"),
    *("lab-files-waiting", "lab-file-line", "lab-log", "lab-log-file", "cylinder-tests"),
    *("runs", "runs-in", "run-to", "run", "manifest"),
    *("order", "teardown", "pack", "stamp", "inspection", "oxygen", "reassembly", "service"),
    *("fill", "limits", "contents", "handover", "stop", "notice", "condemned-tag"),
    *("camera", "bind-camera", "tag-camera", "fit-camera", "pack-camera", "in-camera"),
    *("figures", "webhooks", "messages", "message-preview", "person"),
)
#: Pages for owners alone: everything that is known of a person leaves the house there.
_OWNERS = ("person-export", "recall", "recall-file", "recall-letter")
ROUTES: Mapping[str, frozenset[Role]] = dict.fromkeys(_BENCH, ANY) | dict.fromkeys(_OWNERS, OWNERS)

#: Forms on pages for everybody that only some may send: route, what the form does, who.
FORMS: Mapping[str, Mapping[str, frozenset[Role]]] = {
    "figures": {"add": OWNERS},  # every due date and fill follows it
    "webhooks": dict.fromkeys(("register", "stop", "resume", "again"), OWNERS),  # data leaves here
    # Anybody may stop all messages when something is wrong; the plan of days is the owner's.
    "messages": {"days": OWNERS},
    "person": {"erase": OWNERS},  # cannot be undone
}


def role_of(user: User) -> Role:
    """What a member of staff is to the shop."""
    return Role.OWNER if user.is_superuser else Role.TECHNICIAN


def may_open(user: User, *, route: str) -> bool:
    """Whether the page of that route is theirs to open."""
    return role_of(user) in ROUTES.get(route, OWNERS)


def may_send(user: User, *, route: str, form: str) -> bool:
    """Whether that form on the page is theirs to send."""
    return role_of(user) in FORMS.get(route, {}).get(form, ANY)


def refusal(request: HttpRequest, user: User, *, route: str) -> HttpResponse | None:
    """The page that says who may do what was asked for, or None where the user may.

    The refusal is logged, without anything that was sent (V16.3.2).
    """
    form = request.POST.get("do", "") if request.method == "POST" and route in FORMS else ""
    if may_open(user, route=route) and may_send(user, route=route, form=form):
        return None
    _log.warning(
        "refused: %s of %s is for owners",
        request.method,
        route,
        extra={"actor": f"staff {user.pk}"},
    )
    owners = User.objects.filter(is_superuser=True, is_staff=True, is_active=True)
    context = {"owners": [owner.get_username() for owner in owners.order_by("pk")]}
    return render(request, "pages/bench/owners_only.html", context, status=403)
