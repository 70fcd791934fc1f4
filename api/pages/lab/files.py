"""A lab's files of many records: choose one, see what would come of each line, confirm, watch.

All of it works without a script: a page that still waits asks for itself again.
"""

from django.core.paginator import Paginator
from django.db import transaction
from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext as _

from api.batches import house, mapping, mending, running
from api.batches.files import CSV, NDJSON, XML, File, as_lines
from api.models import BatchLine, FileMapping, ResultBatch
from api.pages import fields
from api.pages.lab.sign_in import FAULTS, LabPage
from api.tasks import go_on_with_batches
from api.wording import told
from cylinders.rules.judgement import UnusableBody
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

LATEST, LINES_A_PAGE, ASK_AGAIN = 30, 200, "3"
_KINDS = {".csv": CSV, ".txt": CSV, ".ndjson": NDJSON, ".jsonl": NDJSON, ".xml": XML}
_HOUSE = ""
_TONES = {
    BatchLine.Outcome.STORED: "ok",
    BatchLine.Outcome.ALREADY: "ok",
    BatchLine.Outcome.REFUSED: "fail",
}


class FileForm(fields.PageForm):
    """The file, and how it is read."""

    file = fields.file(
        say("Your file"),
        hint=say("CSV, NDJSON or XML, up to 8 MB and 10,000 lines."),
        required=True,
        accept=",".join(_KINDS),
    )
    mapping = fields.pick(say("How it is read"), [(_HOUSE, say("the columns of the model file"))])

    def __init__(self, *given: object, names: list[str], **more: object) -> None:
        super().__init__(*given, **more)  # type: ignore[arg-type] # handed on as it came
        choice = self.fields["mapping"]
        choice.choices = [*choice.choices, *((one, one) for one in names)]  # type: ignore[attr-defined] # a choice field
        choice.required = False


class Confirm(fields.PageForm):
    """Store what can be, or all or none."""

    mode = fields.pick(
        say("What is to be stored?"),
        [
            ("lines", say("Every line that is good")),
            ("whole", say("All lines, or none if one is not good")),
        ],
    )


class Files(LabPage):
    """The files that were sent, and the next one."""

    tab = "files"

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show the form and the latest files."""
        return self._show(request, FileForm(names=self._names(), initial={"mapping": _HOUSE}))

    def post(self, request: HttpRequest) -> HttpResponse:
        """Take a file as a dry run: nothing is stored before somebody has seen what would be."""
        form = FileForm(request.POST, request.FILES, names=self._names())
        if not form.is_valid():
            return self._show(request, form, status=FAULTS)
        try:
            content = self._read(form)
            batch, _new = running.take(
                lab_id=self.lab.pk, content=content, dry_run=True, at=self.at
            )
        except (Refused, UnusableBody) as wrong:
            form.add_error("file", told(str(wrong)))
            return self._show(request, form, status=FAULTS)
        return _watch(batch)

    def _names(self) -> list[str]:
        saved = FileMapping.objects.filter(lab=self.lab).order_by("name")
        return list(saved.values_list("name", flat=True))

    def _read(self, form: FileForm) -> File:
        sent, name = form.cleaned_data["file"], form.cleaned_data["mapping"]
        ending = sent.name[sent.name.rfind(".") :].lower()
        if ending not in _KINDS:
            raise Refused("unknown_kind", _("Send a file that ends in .csv, .ndjson or .xml."))
        if sent.size > running.MOST_BYTES:
            raise Refused("too_large", _("The file is too large: send at most 8 MB at once."))
        how = house.HOUSE
        if name != _HOUSE:
            how = mapping.read(FileMapping.objects.get(lab=self.lab, name=name).content)
        return as_lines(sent.read(), _KINDS[ending], how)

    def _show(self, request: HttpRequest, form: FileForm, status: int = 200) -> HttpResponse:
        sent = ResultBatch.objects.filter(lab=self.lab).order_by("-received_at", "-pk")[:LATEST]
        return self.show(request, "lab/files.html", status, form=form, files=sent)


class OneFile(LabPage):
    """What came of one file, or would come of it, line by line."""

    tab = "files"

    def get(self, request: HttpRequest, number: int) -> HttpResponse:
        """Show it; while it is worked on the page asks for itself again."""
        batch = self._own(number)
        counts = dict(batch.lines.values_list("outcome").annotate(count=Count("pk")))
        pages = Paginator(batch.lines.order_by("number"), LINES_A_PAGE)
        page = pages.get_page(request.GET.get("page"))
        tones = [_TONES.get(BatchLine.Outcome(line.outcome), "caution") for line in page]
        answer = self.show(
            request,
            "lab/file.html",
            batch=batch,
            done=sum(counts.values()),
            counts=[(one.label, counts[one]) for one in BatchLine.Outcome if one in counts],
            not_stored=counts.get("refused", 0) + counts.get("kept_back", 0),
            page=page,
            lines=list(zip(page, tones, strict=True)),
            form=Confirm(initial={"mode": "lines"}),
        )
        if not batch.finished_at:
            answer["Refresh"] = ASK_AGAIN
        return answer

    def post(self, request: HttpRequest, number: int) -> HttpResponse:
        """Do for real what a dry run has shown."""
        seen = self._own(number)
        form = Confirm(request.POST)
        if not form.is_valid():
            return self.get(request, number)
        content = File(seen.content, seen.source, seen.mapping)
        whole = form.cleaned_data["mode"] == "whole"
        try:
            batch, _new = running.take(
                lab_id=self.lab.pk, content=content, dry_run=False, whole=whole, at=self.at
            )
        except Refused as refused:
            says = told(refused.says)
            return self.show(request, "lab/files.html", FAULTS, refused=says, form=None)
        return _watch(batch)

    def _own(self, number: int) -> ResultBatch:
        found = ResultBatch.objects.filter(pk=number, lab=self.lab).first()
        if found is None:
            raise Http404(f"no file {number}")
        return found


class NotStored(OneFile):
    """The lines that were not stored, to be mended and sent again."""

    def get(self, _request: HttpRequest, number: int) -> HttpResponse:
        """As CSV."""
        return _saved(mending.not_stored(self._own(number)), f"to-mend-{number}.csv")

    def post(self, request: HttpRequest, number: int) -> HttpResponse:
        """Nothing is sent here."""
        return self.http_method_not_allowed(request, number)


class ModelFile(LabPage):
    """The heading of the house's own columns."""

    def get(self, _request: HttpRequest) -> HttpResponse:
        """As CSV."""
        return _saved(house.model_file().encode(), "model.csv")


def _watch(batch: ResultBatch) -> HttpResponse:
    if not batch.finished_at:
        # Without a queue nothing is lost: the clock goes on with what is left each minute.
        transaction.on_commit(go_on_with_batches.delay, robust=True)
    return HttpResponseRedirect(reverse("lab-file", args=[batch.pk]))


def _saved(content: bytes, name: str) -> HttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type="text/csv", headers=headers)
