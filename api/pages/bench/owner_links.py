"""The owner's links: made here, shown once, ended one by one."""

from typing import Any, ClassVar

from django import forms
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from api import links
from api.models import StatusLink
from api.pages import fields
from api.pages.page import BenchPage, Forms
from api.pages.status import spread
from api.pages.told import Told, Tone
from cylinders.models import Cylinder
from cylinders.rules.wording import say


class Make(fields.PageForm):
    """Asks for a fresh link."""


class End(fields.PageForm):
    """Which link ends, and why."""

    link = forms.IntegerField(widget=forms.HiddenInput)
    reason = fields.line(say("Why does it end?"), hint=say("Lost phone, wrong address ..."))


class OwnerLinks(BenchPage):
    """Every link of one cylinder; the address of a new one stands on the answer alone.

    Only a digest is kept, so the address cannot be told again: a form that is sent twice makes one
    link and says so.
    """

    template = "pages/bench/owner_links.html"
    forms: ClassVar[Forms] = {"make": Make, "end": End}
    cylinder: Cylinder
    address: str = ""

    def prepare(self) -> None:
        """Load the cylinder."""
        found = Cylinder.objects.select_related("owner").filter(pk=self.kwargs["pk"]).first()
        if found is None:
            raise Http404(f"no cylinder {self.kwargs['pk']}")
        self.cylinder = found

    def context(self) -> dict[str, Any]:
        """Links that still open, latest first."""
        live = StatusLink.objects.filter(
            cylinder=self.cylinder,
            customer_id=self.cylinder.owner_id,
            revoked_at__isnull=True,
            expires_at__gt=self.at,
        )
        return {
            "cylinder": self.cylinder,
            "links": live.order_by("-pk"),
            "round": [link.pk for link in live if spread.went_round(link.pk)],
            "address": self.address,
        }

    def post(self, request: HttpRequest, **address: Any) -> HttpResponse:
        """Answer a fresh link on the spot; everything else as on any page."""
        response = super().post(request, **address)
        return self.show(request) if self.address else response

    def act(self, name: str, form: Form) -> Told:
        """Make a link, or end one."""
        if name == "make":
            made = links.issue(cylinder_id=self.cylinder.pk, at=self.at, by=self.by)
            self.address = made.address
            return Told(_("This link was made already, and shown once."), tone=Tone.CAUTION)
        own = StatusLink.objects.filter(pk=form.cleaned_data["link"], cylinder=self.cylinder)
        if not own.exists():
            raise Http404("no such link of this cylinder")
        links.revoke(
            link_id=form.cleaned_data["link"],
            reason=form.cleaned_data["reason"],
            at=self.at,
            by=self.by,
        )
        return Told(_("That link opens nothing any more."))
