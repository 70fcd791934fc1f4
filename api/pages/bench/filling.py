"""A fill with its limits said beforehand, or refused with every reason at once."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.order import OrderPage
from api.pages.bench.tags import printed
from api.pages.page import Forms, StaffView
from api.pages.told import Told, Tone
from cylinders.models import Cylinder, Fill, WorkOrder
from cylinders.operations import filling
from cylinders.queries.due import fill_verdict
from cylinders.rules.gas import DepthUnit, MixError, mod
from cylinders.rules.quantity import Quantity, QuantityError, read_number
from cylinders.rules.stages import Step
from cylinders.rules.status import FillVerdict
from cylinders.rules.wording import say
from labels.content import contents_of
from labels.models import Tag, TagKind, TagState

_HUNDRED = Decimal(100)
_AIR = "20.9"
_UNITS = [("psi", "psi"), ("bar", "bar")]
_RELIEFS = [
    ("", say("not looked at")),
    ("disc", say("disc, no fuse metal")),
    ("other", say("another kind")),
]
#: whether the filler saw a frangible disc without fuse metal; nobody looked, nobody knows
RELIEF = {"disc": True, "other": False}


class FillForm(fields.PageForm):
    """What is in it, as analysed, and to which pressure it was filled."""

    percent = fields.line(say("Oxygen, as analysed, in per cent"), inputmode="decimal")
    pressure = fields.line(say("Pressure"), hint=say("Settled at 21 C (70 F)"), inputmode="decimal")
    unit = fields.pick(say("Unit"), _UNITS)
    relief = fields.pick(
        say("Relief of the valve (asked for a plus fill)"), _RELIEFS, required=False
    )

    def clean_percent(self) -> Decimal:
        """A plain decimal."""
        return _number(self.cleaned_data["percent"])

    def clean_pressure(self) -> Decimal:
        """A plain decimal."""
        return _number(self.cleaned_data["pressure"])


@dataclass(frozen=True, slots=True)
class Limits:
    """What the rules say of a fill that was typed, before anything is recorded."""

    verdict: FillVerdict
    depth: str


class Filling(OrderPage):
    """Limits first, then the fill."""

    template = "pages/bench/fill.html"
    step = Step.FILL
    forms: ClassVar[Forms] = {"fill": FillForm}

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """Air to the marked pressure stands in a fresh form."""
        cylinder = self.order.cylinder
        initial = {
            "percent": _AIR if cylinder.use_gas == "air" else "",
            "pressure": cylinder.service_pressure,
            "unit": cylinder.pressure_unit,
        }
        return self.forms[name](data, auto_id=f"{name}_%s", initial=initial)

    def context(self) -> dict[str, Any]:
        """The limits as they stand for the marked pressure, and the fill that was made."""
        form = self.bind("fill")
        typed = self.request.POST or {
            name: str(form.initial[name] or "") for name in ("percent", "pressure", "unit")
        }
        fill = self.order.fills.order_by("-pk").first()
        return super().context() | {
            "limits": limits_of(self.order.cylinder, typed, on=self.on),
            "fill": fill,
        }

    def act(self, _name: str, form: Form) -> Told:
        """Fill, or be refused."""
        data = form.cleaned_data
        outcome = filling.fill(
            work_order_id=self.order.pk,
            oxygen_fraction=f"{data['percent'] / _HUNDRED:f}",
            pressure=Quantity(data["pressure"], data["unit"]),
            on=self.on,
            at=self.at,
            by=self.by,
            relief_is_disc=RELIEF.get(data["relief"]),
        )
        if outcome.fill:
            self.prepare()
            says = _("%(mod)s. Print the contents label and put it on.") % {"mod": outcome.fill.mod}
            return Told(says, "", Tone.OK, _("FILLED"))
        says = " ".join(reason.says for reason in outcome.reasons)
        return Told(says, "", Tone.FAIL, _("NO FILL"), outcome.reasons[0].cites.source)


class LimitsFragment(StaffView):
    """The limits of a fill while it is typed."""

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        """The fragment; nothing is stored."""
        order = WorkOrder.objects.select_related("cylinder").filter(pk=pk).first()
        if order is None:
            raise Http404(f"no order {pk}")
        limits = limits_of(order.cylinder, request.POST, on=self.on)
        return render(request, "pages/bench/limits.html", {"limits": limits})


class ContentsPrint(StaffView):
    """The contents label of the last fill of a visit."""

    def get(self, request: HttpRequest, pk: int, form: str) -> HttpResponse:
        """Render it."""
        order = WorkOrder.objects.filter(pk=pk).first()  # a number beyond the database finds none
        fill = order and Fill.objects.filter(work_order=order).order_by("-pk").first()
        tag = (
            fill
            and Tag.objects.filter(
                cylinder_id=fill.cylinder_id, kind=TagKind.CYLINDER, state=TagState.LIVE
            ).first()
        )
        if not fill or not tag:
            raise Http404("no fill, or no tag on the cylinder, to print a label for")
        content = contents_of(fill, tag, initials=self.user.get_username()[:3].upper())
        return printed(request, content, form, title=f"contents, order {pk}")


def limits_of(cylinder: Cylinder, typed: Mapping[str, Any], *, on: dt.date) -> Limits | None:
    """What may be filled, for figures as typed; None where they are no figures yet."""
    try:
        share = read_number(typed.get("percent", "").strip()) / _HUNDRED
        pressure = Quantity(read_number(typed.get("pressure", "").strip()), typed.get("unit", ""))
        unit = DepthUnit.FSW if pressure.unit == "psi" else DepthUnit.MSW
        verdict = fill_verdict(
            cylinder,
            on=on,
            fo2=share,
            requested_pressure=pressure,
            relief_is_disc=RELIEF.get(typed.get("relief", "")),
        )
        return Limits(verdict, mod(fo2=share, unit=unit).says)
    except (QuantityError, MixError):
        return None


def _number(text: str) -> Decimal:
    try:
        return read_number(text)
    except QuantityError as problem:
        raise ValidationError(_("Write a plain number, for example 32.5.")) from problem
