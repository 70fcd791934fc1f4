"""The shop's own look: inside, outside, threads, by a named standard; and cleaning for oxygen."""

from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.forms import Form
from django.http import Http404
from django.utils.translation import gettext as _

from api.pages import fields, uploads
from api.pages.bench.order import OrderPage, next_of
from api.pages.lock import FILES_LOST
from api.pages.page import Forms
from api.pages.told import Told, Tone
from cylinders.models import FileKind, Service
from cylinders.models import Inspection as Done
from cylinders.operations import inspection, oxygen, second_look
from cylinders.rules.eddy_current import Sight, judge_sights
from cylinders.rules.specifications import find
from cylinders.rules.stages import Step
from cylinders.rules.visual import standard_for
from cylinders.rules.wording import say

STANDARDS = [
    ("CGA C-6", say("CGA C-6, steel")),
    ("CGA C-6.1", say("CGA C-6.1, aluminium")),
    ("CGA C-6.2", say("CGA C-6.2, composite")),
    ("CGA C-8", "CGA C-8, 3HT"),
    ("ISO 18119", say("ISO 18119, seamless")),
    ("other", say("Another")),
]
_SEEN = [("pass", say("Pass")), ("fail", say("Fail")), ("not_done", say("Not done"))]
_ENDINGS = [
    ("rejected", say("Rejected: may be repaired")),
    ("condemned", say("Condemned: never again")),
]


_SIGHTS = [
    ("", say("Not examined")),
    ("clear", say("Nothing seen")),
    ("indication", say("An indication")),
]
_SECOND = [("clear", say("No crack")), ("crack", say("A crack: condemned for ever"))]
_TRACE_HINT = say("A PDF, or a photo of the screen.")
_TRACE_TYPES = "application/pdf,image/jpeg,image/png,image/webp"


class WithTrace(fields.PageForm):
    """A form that takes an eddy current trace along."""

    def clean_trace(self) -> int | None:
        """The number of the kept file."""
        if self.data.get(FILES_LOST):
            raise ValidationError(uploads.lost())
        return uploads.keep_trace(self.cleaned_data["trace"])


class LookForm(WithTrace):
    """What was seen."""

    standard = fields.pick(say("By which standard"), STANDARDS)
    other_standard = fields.line(say("Another standard, by name"), required=False)
    internal = fields.pick(say("Inside"), _SEEN)
    external = fields.pick(say("Outside"), _SEEN)
    threads = fields.pick(say("Threads"), _SEEN)
    sticker_removed = fields.tick(say("The old sticker is off"))
    eddy_current = fields.pick(
        say("Neck by eddy current, where it was examined here"), _SIGHTS, required=False
    )
    eddy_equipment = fields.line(say("Eddy current equipment"), required=False)
    eddy_ring = fields.line(say("Its reference ring"), required=False)
    trace = fields.file(say("Its trace"), hint=_TRACE_HINT, accept=_TRACE_TYPES)
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
            eddy_current=data["eddy_current"],
            eddy_equipment=data["eddy_equipment"],
            eddy_ring=data["eddy_ring"],
            trace=data["trace"],
        )


class AgainForm(WithTrace):
    """What another person saw of an indication."""

    seen = fields.pick(say("What is it?"), _SECOND)
    notes = fields.text(say("How you looked, and what it was"))
    trace = fields.file(say("Your trace"), hint=_TRACE_HINT, accept=_TRACE_TYPES)


class Inspection(OrderPage):
    """One form; what fails asks for its ending."""

    template = "pages/bench/inspection.html"
    step = Step.INSPECT
    forms: ClassVar[Forms] = {"look": LookForm, "again": AgainForm}

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """The standard that 49 CFR 180.205(f) names for its metal is chosen."""
        specification = find(self.order.cylinder.specification)
        initial = {"standard": standard_for(specification) or ""}
        return self.forms[name](data, auto_id=f"{name}_%s", initial=initial)

    def context(self) -> dict[str, Any]:
        """What was inspected at this visit, and whether it came for the lab first."""
        done = self.order.inspections.order_by("-pk").first()
        return super().context() | {
            "done": done,
            "traces": done.attachments.filter(kind=FileKind.TRACE) if done else (),
            "waits": judge_sights(Sight.INDICATION) if done and done.result == "waiting" else None,
            "wants_clean": Service.OXYGEN_CLEANING in self.order.services,
        }

    def act(self, name: str, form: Form) -> Told:
        """Record it."""
        done = self._recorded(name, form)
        self.prepare()
        goto = next_of(self.order).url
        if done.result == "passed":
            return Told(_("Inspected and passed. Put the new sticker on."), goto)
        if done.result == "waiting":
            says = _("Nothing passes before another person has signed in and looked at it.")
            return Told(says, goto, Tone.UNKNOWN, _("SECOND LOOK"))
        says = _("Give the owner the written notice.")
        return Told(says, goto, Tone.FAIL, done.result.upper())

    def _recorded(self, name: str, form: Form) -> Done:
        order, on, at, by = self.order.pk, self.on, self.at, self.by
        if isinstance(form, LookForm):
            return inspection.record(work_order_id=order, look=form.look(), on=on, at=at, by=by)
        if isinstance(form, AgainForm):
            again = second_look.SecondLook(**form.cleaned_data)
            return second_look.record(work_order_id=order, again=again, on=on, at=at, by=by)
        raise Http404(name)


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
