"""One record that a lab sent, and the papers that belong to it."""

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse

from api import file_answers
from api.pages import fields, uploads
from api.pages.checked import checked
from api.pages.lab.sign_in import FAULTS, LabPage
from api.wording import told
from cylinders.models import Shows, TestRecord
from cylinders.operations import papers
from cylinders.queries import for_lab, stored_files
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

NOT_FOUND = 404


class PaperForm(fields.PageForm):
    """One paper; most often that of the day's check."""

    paper = fields.file(
        say("A PDF, a JPEG or a PNG"),
        hint=say("Up to 10 MB; it is kept as it is."),
        required=True,
        accept="application/pdf,image/jpeg,image/png",
    )
    shows = fields.pick(
        say("What it shows"), [(one.value, str(one.label)) for one in papers.OF_A_PAPER]
    )


class Record(LabPage):
    """How it was judged, whether it counts, and its papers."""

    def get(self, request: HttpRequest, reference: str) -> HttpResponse:
        """Show it, or 404 for one that this lab did not send."""
        return self._show(request, reference, PaperForm(initial={"shows": Shows.CALIBRATION}))

    def post(self, request: HttpRequest, reference: str) -> HttpResponse:
        """Add a paper; the same one again is no second one."""
        record = self._record(reference)
        form = PaperForm(request.POST, request.FILES)
        if record is None or not form.is_valid():
            return self._show(request, reference, form, status=FAULTS)
        data = form.cleaned_data
        try:
            papers.add(
                record_id=record.pk,
                file=uploads.keep_paper(data["paper"]),
                shows=data["shows"],
                at=self.at,
                by=self.by,
            )
        except Refused as refused:
            name = uploads.shown_name(data["paper"].name)
            form.add_error("paper", f"{name}: {told(refused.says)}")
            return self._show(request, reference, form, status=FAULTS)
        return HttpResponseRedirect(reverse("lab-record", args=[reference]))

    def _record(self, reference: str) -> TestRecord | None:
        return for_lab.records(lab_id=self.lab.pk).filter(lab_reference=reference).first()

    def _show(
        self, request: HttpRequest, reference: str, form: PaperForm, status: int = 200
    ) -> HttpResponse:
        record = self._record(reference)
        if record is None:
            return self.show(request, "lab/no_record.html", NOT_FOUND, reference=reference)
        about: dict[str, Any] = {
            "record": record,
            "answer": record.answer,
            "verdict": record.verdict,
            "papers": stored_files.papers(lab_id=self.lab.pk, reference=reference),
            "form": form,
        }
        return self.show(request, "lab/record.html", status, **about, **checked(record.answer))


class Paper(LabPage):
    """One paper of a record of this lab."""

    def get(self, request: HttpRequest, reference: str, number: int) -> HttpResponse:
        """Give it, or 404 for one that is not this lab's."""
        own = stored_files.papers(lab_id=self.lab.pk, reference=reference)
        found = own.filter(pk=number).first()
        if found is None:
            return self.show(request, "lab/no_record.html", NOT_FOUND, reference=reference)
        return file_answers.answer(found)
