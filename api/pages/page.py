"""How every page of the bench works: staff only, the clock asked once, one action for one post.

A page shows itself by ``context()``. It names its forms; a post names one of them in ``do``. What
a person typed is never lost: a form with faults, and a form whose work was refused, is shown again
with its content and the reason. What was done is told on the page that follows, by the number of
its :class:`api.models.SentForm`, so reloading that page does nothing.
"""

import datetime as dt
from collections.abc import Mapping
from typing import Any, ClassVar, TypeAlias
from urllib.parse import urlencode

from django.contrib import auth
from django.contrib.auth.models import User
from django.contrib.auth.views import redirect_to_login
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views import View

from api.models import SentForm
from api.neighbourhood import neighbourhood
from api.pages import lock, lock_out, once, rights
from api.pages.fields import PageForm
from api.pages.told import Told, Tone, refusal
from cylinders.facts import Actor
from cylinders.models import Shop
from cylinders.queries.shop_day import shop_day, zone_of
from cylinders.rules.refusal import Refused

FAULTS, REFUSED, LOCKED = 422, 409, 403
#: what a page's forms are called, and their classes
Forms: TypeAlias = Mapping[str, type[PageForm]]


class StaffView(View):
    """A view for members of staff; ``at`` is the moment, ``on`` the shop's day, ``by`` who acts."""

    at: dt.datetime
    on: dt.date
    by: Actor
    user: User

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Ask the clock, see who it is, and go on; strangers are asked to sign in."""
        if not isinstance(request.user, User):
            return redirect_to_login(request.get_full_path())
        if not request.user.is_staff:
            return render(request, "pages/bench/not_staff.html", status=403)
        self.user = request.user
        self.at = timezone.now()
        self.by = Actor("staff", str(self.user.pk))
        locked = self._locked(request)
        if locked:
            return locked
        refused = rights.refusal(request, self.user, route=self.route)
        if refused:
            return refused
        zone = zone_of(Shop.objects.first())
        self.on = shop_day(self.at, zone=zone).on
        with timezone.override(zone):
            return super().dispatch(request, *args, **kwargs)

    @property
    def route(self) -> str:
        """The name of the address that was asked for, as the table of rights has it."""
        match = self.request.resolver_match
        return (match and match.url_name) or ""

    def _locked(self, request: HttpRequest) -> HttpResponse | None:
        """The page that asks for the PIN, or None where the work goes on."""
        session = request.session
        if not lock.is_locked(session, at=self.at):
            lock.touch(session, at=self.at)
            return None
        door = {"name": f"lock of {self.user.pk}", "address": neighbourhood(request)}
        if lock_out.is_shut(at=self.at, **door):
            auth.logout(request)
            return redirect_to_login(request.get_full_path())
        given = request.POST.get(lock.FIELD, "")
        carried = lock.carried_on(request.POST, files=bool(request.FILES))
        if lock.opens(self.user, given):
            lock_out.forget(**door)
            session.cycle_key()
            lock.touch(session, at=self.at)
            return None if carried else HttpResponseRedirect(request.get_full_path())
        if given:
            lock_out.count_wrong(at=self.at, **door)
        context = {"carried": carried, "wrong": bool(given)}
        return render(request, "pages/bench/locked.html", context, status=LOCKED)


class BenchPage(StaffView):
    """A page with its forms; subclasses give ``template``, ``forms``, ``context`` and ``act``."""

    template: ClassVar[str]
    forms: ClassVar[Forms] = {}
    tab: ClassVar[str] = ""

    def prepare(self) -> None:
        """Load what the address names into attributes; raise ``Http404`` where nothing is there."""

    def context(self) -> dict[str, Any]:
        """What the template shows, beside the forms."""
        return {}

    def bind(self, name: str, data: Any = None) -> PageForm:
        """The form ``name``, filled with ``data`` or fresh."""
        return self.forms[name](data, auto_id=f"{name}_%s")

    def act(self, name: str, form: Form, /) -> Told:
        """Do what the form ``name`` asks for; raises ``Refused``."""
        raise Http404(f"nothing is done here by {name} ({form})")

    def get(self, request: HttpRequest, **_address: Any) -> HttpResponse:
        """Show the present state."""
        self.prepare()
        return self.show(request, told=_told(request, self.user))

    def post(self, request: HttpRequest, **_address: Any) -> HttpResponse:
        """Act once, then show the page that tells what came of it."""
        self.prepare()
        name = request.POST.get("do", "")
        if name not in self.forms:
            fault = Told(_("That button is not on this page. Look again."), tone=Tone.FAIL)
            return self.show(request, told=fault, status=FAULTS)
        form = self.bind(name, request.POST)
        form.files = request.FILES
        if not form.is_valid():
            return self.show(request, bound={name: form}, status=FAULTS)
        try:
            row = once.act(
                user=self.user,
                path=request.path,
                sent=request.POST,
                files=request.FILES,
                at=self.at,
                work=lambda: self.act(name, form),
            )
        except Refused as refused:
            self.prepare()
            return self.show(request, bound={name: form}, told=refusal(refused), status=REFUSED)
        return HttpResponseRedirect(_with_number(row, request.path))

    def show(
        self,
        request: HttpRequest,
        *,
        bound: Mapping[str, PageForm] | None = None,
        told: Told | None = None,
        status: int = 200,
    ) -> HttpResponse:
        """Render the present state, with ``bound`` forms in place of fresh ones."""
        fresh = {name: self.bind(name) for name in self.forms if name not in (bound or {})}
        context = {
            "form": fresh | dict(bound or {}),
            "may": [name for name in self.forms if self._may(name)],
            "faulty": any(form.errors for form in (bound or {}).values()),
            "once": once.number(),
            "told": told,
            "tab": self.tab,
            "on": self.on,
            "at": self.at,
        }
        return render(request, self.template, context | self.context(), status=status)

    def _may(self, form: str) -> bool:
        return rights.may_send(self.user, route=self.route, form=form)


def _with_number(row: SentForm, path: str) -> str:
    location = row.location or path
    bare, _, mark = location.partition("#")
    joint = "&" if "?" in bare else "?"
    return f"{bare}{joint}{urlencode({'told': row.pk})}" + (f"#{mark}" if mark else "")


def _told(request: HttpRequest, user: User) -> Told | None:
    number = request.GET.get("told", "")
    if not (number.isascii() and number.isdigit() and len(number) < 19):  # noqa: PLR2004 - fits a row number
        return None
    row = SentForm.objects.filter(pk=int(number), user=user).first()
    if row is None:
        return None
    return Told(row.says, row.location, Tone(row.tone or "ok"), row.word, row.cites)
