"""The lab's way in: its key, once a browser. The session keeps the number of the key, no secret.

Each page asks again whether that key still opens: a key that was revoked ends its sessions too.
"""

import datetime as dt
from typing import Any, ClassVar

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views import View

from api import keys
from api.models import LabKey
from api.neighbourhood import neighbourhood
from api.pages import lock_out
from api.pages.fields import PageForm
from cylinders.facts import Actor
from cylinders.models import Lab
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

#: where the session keeps the number of the key
SESSION = "lab_key"
FAULTS, TOO_MANY = 422, 429
_PREFIX = 8  # symbols of a key before its dot


class KeyForm(PageForm):
    """The key, as the shop gave it."""

    key = forms.CharField(
        label=say("Your lab's key"),
        help_text=say("As the shop gave it to you: eight symbols, a dot, 43 symbols."),
        max_length=100,
        widget=forms.PasswordInput(
            attrs={"autocomplete": "current-password", "autofocus": True, "spellcheck": "false"},
        ),
        error_messages={"required": say("Paste the key here.")},
    )


class SignIn(View):
    """Show the field; take the key."""

    def get(self, request: HttpRequest) -> HttpResponse:
        """Ask for the key."""
        return render(request, "lab/sign_in.html", {"form": KeyForm()})

    def post(self, request: HttpRequest) -> HttpResponse:
        """Open a fresh session for the lab, or say why not."""
        door, now = _door(request), timezone.now()
        if lock_out.is_shut(at=now, **door):
            says = _("Too many tries. Wait a quarter of an hour.")
            said: dict[str, object] = {"form": KeyForm(), "refused": says}
            response = render(request, "lab/sign_in.html", said, status=TOO_MANY)
            response.headers["Retry-After"] = str(int(lock_out.WINDOW.total_seconds()))
            return response
        form = KeyForm(request.POST)
        if not form.is_valid():
            return render(request, "lab/sign_in.html", {"form": form}, status=FAULTS)
        try:
            key = keys.check(form.cleaned_data["key"], at=now)
            _must_send_results(key)
        except Refused as refused:
            lock_out.count_wrong(at=now, **door)
            said = {"form": KeyForm(), "refused": refused.says}
            return render(request, "lab/sign_in.html", said, status=FAULTS)
        lock_out.forget(**door)
        request.session.cycle_key()
        request.session[SESSION] = key.pk
        return HttpResponseRedirect(reverse("lab"))


class SignOut(View):
    """Forget the lab and what its pages kept; a post, so that no picture's address can do it."""

    def post(self, request: HttpRequest) -> HttpResponse:
        """End the session."""
        request.session.flush()
        return HttpResponseRedirect(reverse("lab-sign-in"))


class LabPage(View):
    """A page for a lab; ``at`` is the moment, ``on`` the shop's day, ``by`` the lab in history."""

    tab: ClassVar[str] = "lab"
    at: dt.datetime
    on: dt.date
    by: Actor
    lab: Lab

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Ask the clock, see which lab it is, and go on; strangers are asked for the key."""
        self.at = timezone.now()
        self.on = timezone.localdate(self.at)
        number = request.session.get(SESSION) or 0
        found = LabKey.objects.select_related("lab").filter(pk=number).first()
        try:
            if found is None:
                return HttpResponseRedirect(reverse("lab-sign-in"))
            self.lab = keys.still_live(found, at=self.at).lab
            _must_send_results(found)
        except Refused as refused:
            request.session.pop(SESSION)
            said = {"form": KeyForm(), "refused": refused.says}
            return render(request, "lab/sign_in.html", said, status=401)
        self.by = Actor("lab", str(self.lab.pk))
        return super().dispatch(request, *args, **kwargs)

    def show(
        self, request: HttpRequest, template: str, status: int = 200, **context: Any
    ) -> HttpResponse:
        """Render a page of the lab."""
        about = {"lab": self.lab, "on": self.on, "tab": self.tab}
        return render(request, template, about | context, status=status)


def _must_send_results(key: LabKey) -> None:
    missing = {keys.Scope.WRITE_RESULTS, keys.Scope.READ_CYLINDERS} - set(key.scopes)
    if missing:
        says = _("This key may not be used for pages: it lacks %(scopes)s.") % {
            "scopes": ", ".join(sorted(missing))
        }
        raise Refused("scope_missing", says)


def _door(request: HttpRequest) -> dict[str, str]:
    """Whose key is tried from where, as wrong tries are counted."""
    prefix = request.POST.get("key", "").partition(".")[0][:_PREFIX]
    return {"name": f"lab key {prefix}", "address": neighbourhood(request)}
