"""The shop's own look: inside, outside, threads, by a named standard; and cleaning for oxygen."""

from typing import Any, ClassVar

from django.forms import Form
from django.http import Http404
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.order import OrderPage, next_of
from api.pages.page import Forms
from api.pages.told import Told, Tone
from cylinders.models import Service
from cylinders.operations import inspection, oxygen
from cylinders.rules.specifications import find
from cylinders.rules.stages import Step
from cylinders.rules.visual import standard_for
from cylinders.rules.wording import say

STANDARDS = [
    ("CGA C-6", "CGA C-6, steel"),
    ("CGA C-6.1", "CGA C-6.1, aluminium"),
    ("CGA C-6.2", "CGA C-6.2, composite"),
    ("CGA C-8", "CGA C-8, 3HT"),
    ("ISO 18119", "ISO 18119, seamless"),
    ("other", say("Another")),
]
_SEEN = [("pass", say("Pass")), ("fail", say("Fail")), ("not_done", say("Not done"))]
_ENDINGS = [
    ("rejected", say("Rejected: may be repaired")),
    ("condemned", say("Condemned: never again")),
]


class LookForm(fields.PageForm):
    """What was seen."""

    standard = fields.pick(say("By which standard"), STANDARDS)
    other_standard = fields.line(say("Another standard, by name"), required=False)
    internal = fields.pick(say("Inside"), _SEEN)
    external = fields.pick(say("Outside"), _SEEN)
    threads = fields.pick(say("Threads"), _SEEN)
    sticker_removed = fields.tick(say("The old sticker is off"))
    ending = fields.pick(say("If anything failed"), _ENDINGS, required=False)
    notes = fields.text(
        say("Notes"),
        hint=say("What was found. If anything failed, this stands in the owner's notice."),
        required=False,
    )

    def clean(self) -> dict[str, Any]:
        """Another standard has a name."""
        data = super().clean() or {}
        if data.get("standard") == "other" and not data.get("other_standard"):
            self.add_error("other_standard", _("Name the standard that was followed."))
        return data

    def look(self) -> inspection.Look:
        """As the operation takes it."""
        data = self.cleaned_data
        standard = data["standard"]
        return inspection.Look(
            standard=data["other_standard"] if standard == "other" else standard,
            internal=data["internal"],
            external=data["external"],
            threads=data["threads"],
            sticker_removed=data["sticker_removed"],
            ending=data["ending"],
            notes=data["notes"],
        )


class Inspection(OrderPage):
    """One form; what fails asks for its ending."""

    template = "pages/bench/inspection.html"
    step = Step.INSPECT
    forms: ClassVar[Forms] = {"look": LookForm}

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """The standard that 49 CFR 180.205(f) names for its metal is chosen."""
        specification = find(self.order.cylinder.specification)
        initial = {"standard": standard_for(specification) or ""}
        return self.forms[name](data, auto_id=f"{name}_%s", initial=initial)

    def context(self) -> dict[str, Any]:
        """What was inspected at this visit, and whether it came for the lab first."""
        return super().context() | {
            "done": self.order.inspections.order_by("-pk").first(),
            "wants_clean": Service.OXYGEN_CLEANING in self.order.services,
        }

    def act(self, name: str, form: Form) -> Told:
        """Record it."""
        if not isinstance(form, LookForm):
            raise Http404(name)
        done = inspection.record(
            work_order_id=self.order.pk, look=form.look(), on=self.on, at=self.at, by=self.by
        )
        self.prepare()
        goto = next_of(self.order).url
        if done.result == "passed":
            return Told(_("Inspected and passed. Put the new sticker on."), goto)
        says = _("Give the owner the written notice.")
        return Told(says, goto, Tone.FAIL, done.result.upper())


class CleanForm(fields.PageForm):
    """How it was cleaned, and how that was checked."""

    method = fields.line(say("Method, and how cleanness was checked"))


class OxygenClean(OrderPage):
    """The cylinder is cleaned for oxygen."""

    template = "pages/bench/oxygen.html"
    step = Step.CLEAN_FOR_OXYGEN
    forms: ClassVar[Forms] = {"clean": CleanForm}

    def act(self, _name: str, form: Form) -> Told:
        """Record it."""
        oxygen.clean(
            work_order_id=self.order.pk,
            method=form.cleaned_data["method"],
            on=self.on,
            at=self.at,
            by=self.by,
        )
        return Told(_("Clean for oxygen, from today."), next_of(self.order).url)
