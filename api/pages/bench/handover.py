"""Ready, and handed over."""

from typing import Any, ClassVar

from django.forms import Form
from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.order import OrderPage
from api.pages.page import Forms
from api.pages.told import Told
from cylinders.models import Whereabouts
from cylinders.operations import handover
from cylinders.rules.stages import STEPS, Step
from cylinders.rules.wording import say


class CallReady(fields.PageForm):
    """Asks to tell the customer."""


class HandOver(fields.PageForm):
    """Who takes it."""

    to = fields.pick(
        say("Who takes it?"), [("owner", say("The owner")), ("other", say("Somebody sent"))]
    )


class Handover(OrderPage):
    """Two buttons, one after the other."""

    template = "pages/bench/handover.html"
    step = Step.HAND_OVER
    forms: ClassVar[Forms] = {"ready": CallReady, "over": HandOver}

    def context(self) -> dict[str, Any]:
        """Whether it may be called ready, and which parts are still in bags."""
        parts = self.order.parts.filter(whereabouts=Whereabouts.BAGGED).order_by("pk")
        ready = self.stage in STEPS[Step.CALL_READY].allowed_at
        base = super().context()
        return base | {"may_call": ready, "bagged": parts, "now": base["now"] or ready}

    def act(self, name: str, form: Form) -> Told:
        """Call it ready, or hand it over."""
        if name == "ready":
            handover.call_ready(work_order_id=self.order.pk, at=self.at, by=self.by)
            return Told(_("Ready. Tell the customer."))
        handover.hand_over(
            work_order_id=self.order.pk,
            to_owner=form.cleaned_data["to"] == "owner",
            at=self.at,
            by=self.by,
        )
        goto = reverse("cylinder", args=[self.order.cylinder_id])
        return Told(_("Handed over. The visit is closed."), goto)
