"""A valve is serviced: O-rings, lubricant, hand wheel."""

from typing import Any, ClassVar

from django.forms import Form
from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.order import OrderPage
from api.pages.page import Forms
from api.pages.told import Told
from cylinders.models import Part
from cylinders.operations import reassembly
from cylinders.rules import o_rings
from cylinders.rules.stages import Step
from cylinders.rules.wording import say


class ServiceForm(fields.PageForm):
    """What went into the valve."""

    o_rings = fields.line(say("Which O-rings went in"), hint=say("Size and material."))
    lubricant = fields.line(say("Which lubricant"))
    oxygen_compatible = fields.tick(say("O-rings and lubricant are made for oxygen"))
    hand_wheel = fields.pick(
        say("Hand wheel"),
        [("sound", say("Sound")), ("replaced", say("Replaced")), ("none", say("Has none"))],
    )


class ValveService(OrderPage):
    """One valve is serviced."""

    template = "pages/bench/service.html"
    step = Step.SERVICE_PART
    forms: ClassVar[Forms] = {"service": ServiceForm}
    part: Part

    def prepare(self) -> None:
        """Load the visit and its part."""
        super().prepare()
        part = self.order.parts.filter(pk=self.kwargs["part"]).first()
        if part is None:
            raise Http404(f"no part {self.kwargs['part']} of order {self.order.pk}")
        self.part = part

    def context(self) -> dict[str, Any]:
        """The part."""
        seals = o_rings.usual(thread=self.part.thread, outlet=self.part.outlet)
        return super().context() | {"part": self.part, "seals": seals, "cites": o_rings.CITES}

    def act(self, _name: str, form: Form) -> Told:
        """Record the service."""
        data = form.cleaned_data
        part = reassembly.service_part(
            work_order_id=self.order.pk,
            part_id=self.part.pk,
            o_rings=data["o_rings"],
            lubricant=data["lubricant"],
            oxygen_compatible=data["oxygen_compatible"],
            hand_wheel=data["hand_wheel"],
            on=self.on,
            at=self.at,
            by=self.by,
        )
        return Told(
            _("Serviced: %(part)s.") % {"part": part}, reverse("reassembly", args=[self.order.pk])
        )
