"""One cylinder: what is stamped, what is due and why, where its parts are, what happened to it."""

from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.forms import Form
from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext as _

from api import links
from api.pages import fields
from api.pages.bench.blank import bind_or_open
from api.pages.bench.order import Next, next_of, stage_name
from api.pages.bench.tags import bench_host
from api.pages.bench.trend import trend_of
from api.pages.names import names_for
from api.pages.page import BenchPage, Forms
from api.pages.sentences import tell
from api.pages.told import Told
from api.wording import told, word
from cylinders import history
from cylinders.models import Customer, Cylinder, Part, WorkOrder
from cylinders.operations import correction, oxygen
from cylinders.queries.due import duties_of, fill_verdict
from cylinders.rules.duties import Duty, State
from cylinders.rules.status import FillVerdict
from cylinders.rules.wording import say
from cylinders.story import MARKING_FIELDS
from labels.models import Tag, TagState
from labels.operations import binding
from labels.operations.binding import Thing

TONES = {
    State.IN_DATE: ("ok", say("in date")),
    State.DUE_SOON: ("caution", say("due soon")),
    State.DUE_THIS_MONTH: ("caution", say("due this month")),
    State.OVERDUE: ("fail", "overdue"),
    State.UNKNOWN: ("unknown", say("not known")),
}
_SHOWN = [name for name in MARKING_FIELDS if name not in ("stamp_text", "pressure_unit")]


@dataclass(frozen=True, slots=True)
class DutyRow:
    """One duty with its shape and word."""

    duty: Duty
    tone: str
    word: str


def duty_rows(duties: tuple[Duty, ...]) -> list[DutyRow]:
    """Duties as pages show them."""
    return [DutyRow(duty, *TONES[duty.state]) for duty in duties]


class BreakClean(fields.PageForm):
    """What got into an oxygen-clean cylinder."""

    why = fields.line(
        say("What got into it?"), hint=say("An oily fill, an opened valve in the rain ...")
    )


class Correct(fields.PageForm):
    """One marking that was recorded wrongly."""

    field = forms.ChoiceField(
        label=say("Which marking is wrong?"),
        choices=[(name, name.replace("_", " ")) for name in MARKING_FIELDS],
    )
    becomes = fields.line(
        say("What is right"), required=False, hint=say("Empty: it is not stamped.")
    )
    reason = fields.line(say("Why, and where it was read"))


class ChangeOwner(fields.PageForm):
    """To whom it belongs now."""

    owner = forms.ModelChoiceField(
        Customer.objects.filter(erased_at__isnull=True).order_by("name"),
        label=say("It now belongs to"),
    )


class IssueTag(fields.PageForm):
    """Asks for the durable tag of the cylinder."""


class BindTag(fields.PageForm):
    """A blank tag that was printed before."""

    code = fields.line(say("Or scan a blank tag that is fixed on already"))


class CylinderPage(BenchPage):
    """Everything about one cylinder, and the one thing to do next."""

    template = "pages/bench/cylinder.html"
    forms: ClassVar[Forms] = {
        "tag": IssueTag,
        "bind": BindTag,
        "correct": Correct,
        "owner": ChangeOwner,
        "break": BreakClean,
    }
    cylinder: Cylinder

    def prepare(self) -> None:
        """Load the cylinder."""
        found = Cylinder.objects.select_related("owner").filter(pk=self.kwargs["pk"]).first()
        if found is None:
            raise Http404(f"no cylinder {self.kwargs['pk']}")
        self.cylinder = found

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """A blank tag that led here through the intake stands in its field."""
        initial = {"code": self.request.GET.get("bind", "")[:20]}
        return self.forms[name](data, auto_id=f"{name}_%s", initial=initial)

    def context(self) -> dict[str, Any]:
        """The cylinder as it stands today."""
        cylinder = self.cylinder
        order = cylinder.work_orders.filter(closed_at__isnull=True).first()
        entries = history.timeline(cylinder.pk)
        verdict = fill_verdict(cylinder, on=self.on)
        records = list(cylinder.records.select_related("lab").order_by("-received_at"))
        return {
            "cylinder": cylinder,
            "order": order,
            "stage": stage_name(order.stage) if order else "",
            "next": self._next(order),
            "tag": Tag.objects.filter(
                cylinder=cylinder, kind="cylinder", state=TagState.LIVE
            ).first(),
            "markings": [
                (word(name).capitalize(), told(str(getattr(cylinder, name))))
                for name in _SHOWN
                if getattr(cylinder, name)
            ],
            "duties": duty_rows(duties_of(cylinder, on=self.on)),
            "verdict": verdict,
            "fill_word": _fill_word(verdict),
            "parts": self._parts(),
            "records": records,
            "trend": trend_of(records),
            "story": tell(entries, names_for(entries)),
        }

    def _next(self, order: WorkOrder | None) -> Next:
        if order:
            return next_of(order)
        return Next(_("Receive it again"), reverse("receive-again", args=[self.cylinder.pk]))

    def _parts(self) -> list[tuple[Part, Tag | None]]:
        parts = (self.cylinder.parts.all() | self.cylinder.shared_parts.all()).distinct()
        tags = {
            tag.part_id: tag
            for tag in Tag.objects.filter(part__in=parts.values("pk"), state=TagState.LIVE)
        }
        return [
            (part, tags.get(part.pk))
            for part in parts.select_related("cylinder", "shared_with", "settled_by").order_by(
                "-pk"
            )
        ]

    def act(self, name: str, form: Form) -> Told:
        """Give it a tag, correct a marking, change the owner, or break its cleanness."""
        data, pk = form.cleaned_data, self.cylinder.pk
        if name == "tag":
            tag = binding.issue(
                thing=Thing.cylinder(self.cylinder), host=bench_host(), at=self.at, by=self.by
            )
            return Told(_("Print it and fix it on."), reverse("tag", args=[tag.code]))
        if name == "bind":
            thing = Thing.cylinder(self.cylinder)
            text, name = data["code"], "cylinder"
            return bind_or_open(self.request, text, thing, name=name, at=self.at, by=self.by)
        if name == "correct":
            correction.correct_marking(
                cylinder_id=pk,
                field=data["field"],
                becomes=data["becomes"],
                reason=data["reason"],
                at=self.at,
                by=self.by,
            )
            return Told(_("Corrected. The old value stays in the story."))
        if name == "owner":
            owner = data["owner"]
            links.change_owner(cylinder_id=pk, owner_id=owner.pk, at=self.at, by=self.by)
            return Told(_("The new owner is recorded. Links of the old one are ended."))
        oxygen.break_clean(cylinder_id=pk, why=data["why"], at=self.at, by=self.by)
        return Told(_("It no longer counts as clean for oxygen."))


def _fill_word(verdict: FillVerdict) -> tuple[str, str]:
    return ("ok", _("in date")) if verdict.allowed else ("fail", _("no fill"))
