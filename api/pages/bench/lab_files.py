"""Lines of labs' files whose cylinder no marks could name: a person says which it is, or none."""

import json
from typing import Any, ClassVar

from django.db.models import Count, Q
from django.forms import Form
from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext as _

from api.batches import waiting
from api.models import BatchLine, ResultBatch
from api.pages import fields
from api.pages.bench.held import plain, sides
from api.pages.page import BenchPage, Forms
from api.pages.told import Told, Tone
from api.wording import word
from cylinders.models import Cylinder
from cylinders.rules.wording import say

LATEST = 30
_SHOWN = ("lab_reference", "date", "method", "test_pressure", "disposition", "operator", "rin")


class LabFiles(BenchPage):
    """The lines that wait, oldest first, and the latest files of every lab."""

    template = "pages/bench/lab_files.html"
    tab = "board"

    def context(self) -> dict[str, Any]:
        """Lines and files."""
        bad = Q(lines__outcome=BatchLine.Outcome.REFUSED)
        sent = ResultBatch.objects.filter(dry_run=False).select_related("lab").order_by("-pk")
        counted = sent.annotate(done=Count("lines"), refused=Count("lines", filter=bad))
        return {"lines": waiting.lines(), "files": counted[:LATEST]}


class Name(fields.PageForm):
    """The cylinder, or none; and what was compared."""

    cylinder = fields.pick(say("Which cylinder is it?"), [])
    reason = fields.text(say("What you compared, and what you found"))


class WaitingLine(BenchPage):
    """One line that waits: what the lab wrote, and what it has in its hands."""

    template = "pages/bench/waiting_line.html"
    tab = "board"
    forms: ClassVar[Forms] = {"name": Name}
    line: BatchLine
    sent: dict[str, Any]

    def prepare(self) -> None:
        """Load a line that waits or waited, and the record that stands in it."""
        asked = Q(outcome=BatchLine.Outcome.WAITING) | Q(decided_by__isnull=False)
        found = BatchLine.objects.select_related("batch__lab").filter(asked, batch__dry_run=False)
        line = found.filter(pk=self.kwargs["pk"]).first()
        if line is None:
            raise Http404(f"no line {self.kwargs['pk']}")
        self.line = line
        self.sent = json.loads(waiting.text_of(line))

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """The form with the cylinders that are at this lab."""
        form = super().bind(name, data)
        marks = self.sent.get("cylinder") or {}
        apart = [(_apart(one, marks), one) for one in waiting.candidates(self.line)]
        apart.sort(key=lambda pair: len(pair[0]))  # what is most like it comes first
        at_lab = [(str(one.pk), _label(one, differs)) for differs, one in apart]
        form.fields["cylinder"].choices = [*at_lab, ("none", _("None of these: take it out"))]  # type: ignore[attr-defined] # a choice field
        return form

    def context(self) -> dict[str, Any]:
        """What the lab wrote."""
        marks = self.sent.get("cylinder") or {}
        shown = [(word(name), plain(self.sent.get(name))) for name in _SHOWN]
        return {
            "line": self.line,
            "marks": [(word(name), plain(value)) for name, value in marks.items() if value],
            "sent": [(name, value) for name, value in shown if value],
            "waits": self.line.outcome == BatchLine.Outcome.WAITING,
        }

    def act(self, _name: str, form: Form) -> Told:
        """Decide."""
        chosen = form.cleaned_data["cylinder"]
        line = waiting.decide(
            line_id=self.line.pk,
            cylinder_id=None if chosen == "none" else int(chosen),
            reason=form.cleaned_data["reason"],
            at=self.at,
            by=self.user,
        )
        if line.outcome == BatchLine.Outcome.REFUSED:
            says = _("Taken out. Ask the lab for the right record.")
            return Told(says, reverse("lab-files-waiting"), tone=Tone.CAUTION)
        says = _("Its record was judged against that cylinder: %(reasons)s")
        return Told(
            says % {"reasons": line.says},
            reverse("lab-files-waiting"),
            Tone.OK if line.verdict == "passed" else Tone.CAUTION,
        )


def _apart(cylinder: Cylinder, marks: dict[str, Any]) -> list[str]:
    """The names of the marks that the lab wrote otherwise."""
    return [str(name) for name, _theirs, _own, alike in sides(marks, cylinder) if not alike]


def _label(cylinder: Cylinder, differs: list[str]) -> str:
    if not differs:
        return str(cylinder)
    says = _("%(cylinder)s (differs: %(marks)s)")
    return says % {"cylinder": cylinder, "marks": ", ".join(differs)}
