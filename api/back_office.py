"""The back office at ``/admin/``: for owners, through the same door as the bench.

Django's own sign-in page there would take any number of guesses, and a phone that locked itself
would still be open there. So there is one door (:mod:`api.pages.bench.login`) and one lock.
"""

from typing import Any

from django.contrib.admin import AdminSite
from django.contrib.auth.models import User
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from api.pages import lock, rights


class BackOffice(AdminSite):
    """People, houses and accounts."""

    def has_permission(self, request: HttpRequest) -> bool:
        """An owner's session that is not locked."""
        user, at = request.user, timezone.now()
        if not (isinstance(user, User) and user.is_staff and user.is_active):
            return False
        if rights.role_of(user) is not rights.Role.OWNER or lock.is_locked(request.session, at=at):
            return False
        lock.touch(request.session, at=at)
        return True

    def login(self, request: HttpRequest, extra_context: Any = None) -> HttpResponse:  # noqa: ARG002 - the signature of Django's
        """Send to the one door; whoever is not an owner gets the refusal of the bench."""
        user = request.user
        if isinstance(user, User) and user.is_staff:
            refused = rights.refusal(request, user, route="back office")
            if refused:
                return refused
        return redirect_to_login(request.GET.get("next") or request.get_full_path())
