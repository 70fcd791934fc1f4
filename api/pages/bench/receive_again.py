"""A cylinder that the service knows comes for another visit."""

from typing import Any, ClassVar

from django.forms import Form
from django.http import Http404
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.arrival import ArrivalFields, suggested
from api.pages.bench.cylinder import duty_rows
from api.pages.bench.order import next_of
from api.pages.page import BenchPage, Forms
from api.pages.told import Told
from cylinders.models import Cylinder
from cylinders.operations import intake
from cylinders.queries.due import duties_of, fill_verdict


class ReceiveAgain(BenchPage):
    """What is due is ticked; one button opens the order."""

    template = "pages/bench/receive_again.html"
    tab = "intake"
    forms: ClassVar[Forms] = {"receive": ArrivalFields}
    cylinder: Cylinder

    def prepare(self) -> None:
        """Load the cylinder."""
        found = Cylinder.objects.select_related("owner").filter(pk=self.kwargs["pk"]).first()
        if found is None:
            raise Http404(f"no cylinder {self.kwargs['pk']}")
        self.cylinder = found

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """What is due is ticked."""
        services = suggested(duties_of(self.cylinder, on=self.on))
        return self.forms[name](data, auto_id="id_%s", initial={"services": services})

    def context(self) -> dict[str, Any]:
        """The cylinder with what is due."""
        open_visit = self.cylinder.work_orders.filter(closed_at__isnull=True).first()
        return {
            "cylinder": self.cylinder,
            "duties": duty_rows(duties_of(self.cylinder, on=self.on)),
            "verdict": fill_verdict(self.cylinder, on=self.on),
            "next": next_of(open_visit) if open_visit else None,
        }

    def act(self, name: str, form: Form) -> Told:
        """Open the order."""
        if not isinstance(form, ArrivalFields):
            raise Http404(name)
        order = intake.receive_again(
            cylinder_id=self.cylinder.pk, arrival=form.arrival(), at=self.at, by=self.by
        )
        return Told(_("Received as order %(order)s.") % {"order": order.pk}, next_of(order).url)
