"""Blank labels: a run is reserved, sent or downloaded, and a person says how it ended."""

from typing import Any, ClassVar

from django import forms
from django.conf import settings
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages import fields, once
from api.pages.bench.tags import bench_host
from api.pages.page import BenchPage, Forms, StaffView
from api.pages.told import Told, Tone
from api.wording import told
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say
from labels import render_pdf
from labels.content import content_of
from labels.models import PrintRun, Tag
from labels.operations import runs
from labels.printing import PrinterFault, Unclear, printers
from labels.printing import send as send_to
from labels.sheets.media import MEDIA

#: Labels that one tap sends: few enough that the page answers before a person taps again.
AT_ONCE = 25
MOST = 500
_SHOWN = 20


class Begin(fields.PageForm):
    """How many, and where they are printed."""

    count = forms.IntegerField(
        label=say("How many blank labels?"), min_value=1, max_value=MOST, initial=24
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [("", _("Download a PDF")), *((name, name) for name in known_printers())]
        self.fields["printer"] = forms.ChoiceField(
            label=_("Where?"),
            choices=choices,
            required=False,
            initial="",
            widget=fields.Tiles(attrs=fields.wide(choices)),
        )


class Send(fields.PageForm):
    """Hand the next labels to the printer, or take them as a file."""


class Confirm(fields.PageForm):
    """Which label was the last good one."""

    last_good = forms.IntegerField(
        label=say("Number of the last good label"),
        help_text=say("0 if none came out right. Every label after it is spoiled and never used."),
        min_value=0,
        max_value=MOST,
    )


class Labels(BenchPage):
    """The runs so far, and a new one."""

    template = "pages/bench/labels.html"
    forms: ClassVar[Forms] = {"begin": Begin}

    def context(self) -> dict[str, Any]:
        """The latest runs with how far each is."""
        latest = PrintRun.objects.order_by("-pk")[:_SHOWN]
        return {"runs": [(run, runs.progress(run)) for run in latest]}

    def act(self, _name: str, form: Form) -> Told:
        """Reserve the codes of a run."""
        run = runs.start(
            key=self.request.POST.get(once.FIELD, "") or once.number(),
            count=form.cleaned_data["count"],
            host=bench_host(),
            printer=form.cleaned_data["printer"],
            at=self.at,
            by=self.by,
        )
        goto = reverse("label-run", args=[run.pk])
        return Told(
            _("%(count)s codes are reserved; nothing is printed yet.") % {"count": run.count}, goto
        )


class LabelRun(BenchPage):
    """One run: send it on, then say how it ended."""

    template = "pages/bench/label_run.html"
    forms: ClassVar[Forms] = {"send": Send, "confirm": Confirm}
    run: PrintRun

    def prepare(self) -> None:
        """Load the run."""
        self.run = find_run(self.kwargs["pk"])

    def context(self) -> dict[str, Any]:
        """How far it is."""
        return {"run": self.run, "progress": runs.progress(self.run), "media": list(MEDIA)}

    def act(self, name: str, form: Form) -> Told:
        """Send the next labels, or take a person's word for how the run ended."""
        if name == "confirm":
            last_good = form.cleaned_data["last_good"]
            runs.confirm(run_id=self.run.pk, last_good=last_good, at=self.at)
            return Told(
                _("%(last_good)s good, %(count)s spoiled for ever.")
                % {"last_good": last_good, "count": self.run.count - last_good}
            )
        if not self.run.printer:
            sent = runs.send(run_id=self.run.pk, to_printer=_on_paper)
            return Told(
                _("%(sent)s labels count as sent. Download and print them now.") % {"sent": sent}
            )
        return self._send_on()

    def _send_on(self) -> Told:
        printer = known_printers().get(self.run.printer)
        if printer is None:
            raise Refused(
                "no_printer",
                _("The printer %(printer)s is no longer in the settings.")
                % {"printer": self.run.printer},
            )

        def one(tag: Tag) -> None:
            send_to(printer, [content_of(tag)], name=f"label {tag.place} of run {self.run.pk}")

        try:
            sent = runs.send(run_id=self.run.pk, to_printer=one, most=AT_ONCE)
        except (PrinterFault, Unclear) as fault:
            says = _("It stopped: %(fault)s Look at the printer, then say the last good label.") % {
                "fault": told(str(fault))
            }
            return Told(says, tone=Tone.CAUTION, word=_("STOPPED"))
        return Told(
            _("Labels sent to %(printer)s: %(sent)s.") % {"printer": self.run.printer, "sent": sent}
        )


class LabelRunPrint(StaffView):
    """The labels of a run that was taken as a file, as one PDF; the same bytes each time."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        """Render what counts as sent; nothing changes by looking."""
        run = find_run(pk)
        tags = run.tags.exclude(printed__in=("reserved", "spoiled")).order_by("place")
        if run.printer or not tags:
            raise Http404("nothing of this run is to be downloaded")
        medium = MEDIA.get(request.GET.get("on", ""), MEDIA["62mm"])
        pages = render_pdf.pdf([content_of(tag) for tag in tags], medium, title=f"run {pk}")
        return HttpResponse(pages, content_type="application/pdf")


def known_printers() -> dict[str, Any]:
    """The printers that the configuration names."""
    return dict(printers(settings.PRINTERS))


def find_run(pk: int) -> PrintRun:
    """The run with that number, or a page that says there is none."""
    run = PrintRun.objects.filter(pk=pk).first()
    if run is None:
        raise Http404(f"no print run {pk}")
    return run


def _on_paper(_tag: Tag) -> None:
    """A file is printed by its reader: marking the label as sent is all there is to do."""
