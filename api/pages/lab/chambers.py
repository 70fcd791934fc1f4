"""Two chambers at once: an entry for each side by side, kept at the service until it is sent."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse

from api import at_the_lab
from api.at_the_lab import InHand
from api.models import LabDraft
from api.pages.lab import checks
from api.pages.lab.enter import CHAMBERS, NOT_FOUND, chamber_of, fresh_form
from api.pages.lab.form import RecordForm
from api.pages.lab.sign_in import LabPage
from cylinders.queries import for_lab
from cylinders.rules.refusal import Refused


@dataclass(frozen=True, slots=True)
class Pane:
    """One chamber: what is in it and its form, or nothing."""

    chamber: int
    item: InHand | None = None
    form: RecordForm | None = None


class Chambers(LabPage):
    """Both chambers; a scan puts a cylinder into one of them."""

    tab = "chambers"

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show both, or put what was scanned into the chamber that was named."""
        code, chamber = request.GET.get("code"), chamber_of(request)
        if code is None or not chamber:
            return self._both(request)
        try:
            cylinder = at_the_lab.by_tag(lab_id=self.lab.pk, text=code)
        except Refused as refused:
            return self._both(request, refused=refused.says, status=NOT_FOUND)
        line = for_lab.lines_sent(lab_id=self.lab.pk).filter(work_order__cylinder=cylinder).last()
        if line is not None:
            self._put(chamber, line.pk)
        return HttpResponseRedirect(reverse("lab-chambers"))

    def post(self, request: HttpRequest) -> HttpResponse:
        """Put a cylinder of the list into a chamber, or take one out unsent."""
        chamber, line = chamber_of(request), request.POST.get("line", "")
        own = for_lab.lines_sent(lab_id=self.lab.pk)
        if chamber and line.isascii() and line.isdigit() and len(line) < 19:  # noqa: PLR2004 - fits a row number
            if own.filter(pk=int(line)).exists():
                self._put(chamber, int(line))
        elif chamber and "out" in request.POST:
            LabDraft.objects.filter(lab=self.lab, chamber=chamber).delete()
        return HttpResponseRedirect(reverse("lab-chambers"))

    def _put(self, chamber: int, line: int) -> None:
        """Put it in where the chamber is empty; what is typed for another is not lost."""
        LabDraft.objects.get_or_create(
            lab=self.lab, chamber=chamber, defaults={"line_id": line, "saved_at": self.at}
        )

    def _both(self, request: HttpRequest, *, refused: str = "", status: int = 200) -> HttpResponse:
        drafts = {row.chamber: row for row in LabDraft.objects.filter(lab=self.lab)}
        lines = list(for_lab.lines_sent(lab_id=self.lab.pk))
        items = {i.line.pk: i for i in at_the_lab.in_hand(lab_id=self.lab.pk, lines=lines)}
        taken = {draft.line_id for draft in drafts.values()}
        return self.show(
            request,
            "lab/chambers.html",
            status,
            refused=refused,
            sent=request.GET.get("sent", "")[:80],
            panes=[self._pane(request, n, drafts.get(n), items) for n in CHAMBERS],
            waiting=[item for pk, item in items.items() if pk not in taken and not item.references],
            checks=checks.of_day(self.lab.pk, self.on),
        )

    def _pane(
        self,
        request: HttpRequest,
        chamber: int,
        draft: LabDraft | None,
        items: dict[int, InHand],
    ) -> Pane:
        item = items.get(draft.line_id) if draft else None
        if draft is None or item is None:
            return Pane(chamber)
        form = fresh_form(item, request, on=self.on, unit=f"{chamber}_%s")
        form.initial["apparatus"] = checks.apparatus_of(self.lab.pk, chamber, self.on)
        form.initial.update(draft.typed)
        if draft.chamber != min(CHAMBERS):
            form.fields["serial"].widget.attrs.pop("autofocus", None)
        return Pane(chamber, item, form)
