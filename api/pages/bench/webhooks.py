"""Who is called when something happens: the labs' addresses and the shop's own; what is owed."""

from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.forms import Form
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from api.models import Webhook, WebhookCall
from api.pages import fields, rights
from api.pages.page import BenchPage, Forms
from api.pages.told import Told, Tone
from api.webhooks import addresses, managing, signing
from cylinders.queries import lab_events
from cylinders.rules.refusal import Refused

_SHOWN = 10


class Register(fields.PageForm):
    """The shop's own system, and what it wants to hear."""

    url = forms.CharField(
        label=gettext_lazy("Address of the shop's own system"), max_length=addresses.LONGEST
    )
    types = forms.MultipleChoiceField(
        label=gettext_lazy("Which events? None chosen: all"),
        choices=[(name, name) for name in lab_events.TYPES],
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )


class Chosen(fields.PageForm):
    """One address of the list."""

    webhook = forms.IntegerField(widget=forms.HiddenInput)


class OneCall(fields.PageForm):
    """One call of the list."""

    call = forms.IntegerField(widget=forms.HiddenInput)


@dataclass(frozen=True, slots=True)
class Row:
    """One address, and those of its calls that did not get through.

    ``secret`` is the shop's own, for an owner's eyes; that of a lab is the lab's affair.
    """

    webhook: Webhook
    secret: str
    delivered: int
    waiting: int
    troubled: list[WebhookCall]


class Webhooks(BenchPage):
    """Every address; only an owner registers and stops."""

    template = "pages/bench/webhooks.html"
    forms: ClassVar[Forms] = {
        "register": Register,
        "stop": Chosen,
        "resume": Chosen,
        "again": OneCall,
    }

    def context(self) -> dict[str, Any]:
        """The addresses, the live ones first."""
        webhooks = Webhook.objects.select_related("lab").order_by("-stopped_at", "pk")
        owner = rights.role_of(self.user) is rights.Role.OWNER
        return {"rows": [_row(webhook, to_owner=owner) for webhook in webhooks]}

    def act(self, name: str, form: Form) -> Told:
        """Register, stop, resume, or make a call again."""
        data = form.cleaned_data
        if name == "register":
            managing.register(lab_id=None, url=data["url"], types=data["types"], at=self.at)
            return Told(_("It is called from now on. Its secret stands with it."))
        if name == "again":
            call = WebhookCall.objects.filter(pk=data["call"]).first()
            if call is None:
                raise Refused("unknown_call", _("There is no such call."))
            managing.replay(call, at=self.at)
            return Told(_("The call is made again within a minute."))
        webhook = Webhook.objects.filter(pk=data["webhook"]).first()
        if webhook is None:
            raise Refused("unknown_webhook", _("There is no such address."))
        if name == "stop":
            managing.stop(webhook, why="the shop stopped it", at=self.at)
            return Told(_("That address is called no more."), tone=Tone.CAUTION)
        managing.resume(webhook, at=self.at)
        return Told(_("That address is called again, first with what it is owed."))


def _row(webhook: Webhook, *, to_owner: bool) -> Row:
    shown = to_owner and webhook.lab_id is None
    calls = webhook.calls.all()
    waiting = calls.filter(state=WebhookCall.State.WAITING)
    return Row(
        webhook=webhook,
        secret=signing.shown(signing.secrets_of(webhook.salt)[0]) if shown else "",
        delivered=calls.filter(state=WebhookCall.State.DELIVERED).count(),
        waiting=waiting.count(),
        troubled=list(waiting.filter(tries__gt=0).order_by("pk")[:_SHOWN]),
    )
