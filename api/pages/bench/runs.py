"""Runs to a lab and back: packed by scan, sent with a named carrier, scanned home again."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from api import lab_numbers
from api.models import SentForm
from api.pages import fields
from api.pages.bench.order import OrderPage
from api.pages.bench.resolve import scanned
from api.pages.bench.tags import printed
from api.pages.page import BenchPage, Forms, StaffView
from api.pages.told import Told, Tone
from api.wording import told
from cylinders.models import Consignment, ConsignmentLine, Lab, WorkOrder
from cylinders.operations import consignment, undoing
from cylinders.queries.board import next_action
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Stage, Step
from cylinders.rules.wording import say
from labels.content import manifest_of
from labels.models import Tag, TagKind, TagState
from labels.scanning import Named, ScanState, Unnamed

_LONGEST = 200


class Code(fields.PageForm):
    """What came through the scan field."""

    code = forms.CharField(
        max_length=_LONGEST, error_messages={"required": say("Nothing arrived.")}
    )


class ChooseLab(fields.PageForm):
    """The lab that it goes to."""

    lab = forms.ModelChoiceField(
        Lab.objects.order_by("name"),
        label=say("To which lab?"),
        widget=fields.Tiles,
        empty_label=None,
    )


class Send(fields.PageForm):
    """Who carries the run."""

    carrier = fields.line(say("Who carries it?"), hint=say("A person or a haulier, by name."))


class OfOrder(fields.PageForm):
    """Names one visit, to undo what was scanned for it."""

    order = forms.IntegerField(widget=forms.HiddenInput)


@dataclass(frozen=True, slots=True)
class Packed:
    """One line of a run: the cylinder, its tag, and whether it is home."""

    line: ConsignmentLine
    order: WorkOrder
    tag: Tag | None


class Runs(BenchPage):
    """Every lab's open run, and every run that is not all home yet."""

    template = "pages/bench/runs.html"
    tab = "runs"

    def context(self) -> dict[str, Any]:
        """Open runs, runs that are away, and labs to pack for."""
        open_runs = Consignment.objects.filter(closed_at__isnull=True).select_related("lab")
        torn_down = WorkOrder.objects.filter(stage=Stage.TORN_DOWN, closed_at__isnull=True)
        away = [run for run in open_runs.order_by("sent_at") if run.sent_at]
        return {
            "labs": Lab.objects.order_by("name"),
            "numbers": [finding for _lab, finding in lab_numbers.findings(on=self.on)],
            "packing": [(run, run.lines.count()) for run in open_runs if not run.sent_at],
            "away": [(run, *_home(run)) for run in away],
            "waiting": [
                order
                for order in torn_down.select_related("cylinder").order_by("moved_at")
                if next_action(order).name == "pack"
            ],
        }


class Pack(OrderPage):
    """One cylinder is put into the run of a lab."""

    template = "pages/bench/pack.html"
    step = Step.PACK
    forms: ClassVar[Forms] = {"pack": ChooseLab}

    def context(self) -> dict[str, Any]:
        """Where it is packed already, if it is."""
        line = self.order.lines.filter(returned_at__isnull=True).first()
        return super().context() | {"run": line.consignment if line else None}

    def act(self, _name: str, form: Form) -> Told:
        """Pack it."""
        lab = form.cleaned_data["lab"]
        consignment.pack(work_order_id=self.order.pk, lab_id=lab.pk, at=self.at, by=self.by)
        says = _("Packed. Scan the next one, or send the run.")
        return Told(says, reverse("run-to", args=[lab.pk]))


class RunTo(BenchPage):
    """The run that is being packed for one lab: scan, scan, scan, then send."""

    template = "pages/bench/run_to.html"
    tab = "runs"
    forms: ClassVar[Forms] = {"pack": Code, "unpack": OfOrder, "send": Send}
    lab: Lab

    def prepare(self) -> None:
        """Load the lab."""
        found = Lab.objects.filter(pk=self.kwargs["pk"]).first()
        if found is None:
            raise Http404(f"no lab {self.kwargs['pk']}")
        self.lab = found

    @property
    def _run(self) -> Consignment | None:
        return Consignment.objects.filter(lab=self.lab, sent_at__isnull=True).first()

    def context(self) -> dict[str, Any]:
        """What is packed so far."""
        run = self._run
        return {"lab": self.lab, "run": run, "lines": packed(run) if run else []}

    def act(self, name: str, form: Form) -> Told:
        """Pack a scanned cylinder, or send the run."""
        if name == "pack":
            return self._pack(form.cleaned_data["code"])
        if name == "unpack":
            number = form.cleaned_data["order"]
            undone = undoing.unpack(work_order_id=number, at=self.at, by=self.by)
            says = _("Undone: %(cylinder)s is out of this run.") % {"cylinder": undone.cylinder}
            return Told(says, reverse("run-to", args=[self.lab.pk]), Tone.CAUTION)
        run = self._run
        if run is None:
            says = _("Nothing is packed for this lab. Scan a cylinder in.")
            raise Refused("nothing_to_send", says)
        consignment.send(
            consignment_id=run.pk,
            carrier=form.cleaned_data["carrier"],
            on=self.on,
            at=self.at,
            by=self.by,
        )
        return Told(_("It is on its way. Print the list that goes with it."), _page(run))

    def _pack(self, text: str) -> Told:
        def pack(order: WorkOrder) -> None:
            consignment.pack(work_order_id=order.pk, lab_id=self.lab.pk, at=self.at, by=self.by)

        here = reverse("run-to", args=[self.lab.pk])
        return by_scan(self.request, text, pack, done="PACKED", goto=here)


class Run(BenchPage):
    """One run that has left: its list for the carrier, what came home, what is short."""

    template = "pages/bench/run.html"
    tab = "runs"
    run: Consignment

    def prepare(self) -> None:
        """Load the run."""
        found = Consignment.objects.select_related("lab").filter(pk=self.kwargs["pk"]).first()
        if found is None:
            raise Http404(f"no run {self.kwargs['pk']}")
        self.run = found

    def context(self) -> dict[str, Any]:
        """Its lines."""
        lines = packed(self.run)
        short = [one for one in lines if self.run.sent_at and not one.line.returned_at]
        return {"run": self.run, "lines": lines, "short": short}


class ManifestPrint(StaffView):
    """The list of a run as PDF, with a symbol for each cylinder."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        """Render it."""
        run = Consignment.objects.filter(pk=pk).first()
        if run is None or not run.lines.exists():
            raise Http404(f"no list of run {pk}")
        return printed(request, manifest_of(run), "pdf", title=f"run {pk}", medium="a4")


class RunsIn(BenchPage):
    """Everything that comes home is scanned here: short is what is missing, over is what is new."""

    template = "pages/bench/runs_in.html"
    tab = "runs"
    forms: ClassVar[Forms] = {"in": Code, "undo": OfOrder}

    def context(self) -> dict[str, Any]:
        """What is still away, what came home today, and what nobody expected."""
        out = ConsignmentLine.objects.filter(consignment__sent_at__isnull=False)
        out = out.select_related("consignment__lab", "work_order__cylinder")
        since = self.at - dt.timedelta(hours=12)
        over = SentForm.objects.filter(
            location=reverse("runs-in"), tone=Tone.FAIL.value, sent_at__gte=since
        )
        return {
            "short": out.filter(returned_at__isnull=True).order_by("consignment__sent_at", "pk"),
            "home": out.filter(returned_at__gte=since).order_by("-returned_at"),
            "over": over.order_by("-sent_at"),
        }

    def act(self, name: str, form: Form) -> Told:
        """Take it back in, or undo that."""
        if name == "undo":
            number = form.cleaned_data["order"]
            undone = undoing.undo_return(work_order_id=number, at=self.at, by=self.by)
            says = _("Undone: %(cylinder)s is still at the lab.") % {"cylinder": undone.cylinder}
            return Told(says, reverse("runs-in"), Tone.CAUTION)

        def take(order: WorkOrder) -> None:
            consignment.take_back(work_order_id=order.pk, at=self.at, by=self.by)

        text = form.cleaned_data["code"]
        return by_scan(self.request, text, take, done="HOME", goto=reverse("runs-in"))


def by_scan(
    request: HttpRequest,
    text: str,
    work: Callable[[WorkOrder], None],
    *,
    done: str,
    goto: str,
) -> Told:
    """Do ``work`` for the visit of a scanned cylinder; whatever came of it is told large.

    A refusal is told and kept on the list like any other answer: the next scan goes on.
    """
    named = scanned(request, text)
    if isinstance(named, Unnamed):
        shown = f" ({named.shown})" if named.shown else ""
        return Told(f"{told(named.says)}{shown}", goto, Tone.FAIL, _("NOT OUR TAG"))
    order = visit_of(named)
    if order is None:
        says = _("That tag stands for no cylinder that is in the house.")
        if named.state is ScanState.RETIRED:
            says = _("That tag is retired. Take it off and scan the cylinder's own.")
        return Told(f"{says} ({named.tag.code})", goto, Tone.FAIL, _("NOT EXPECTED"))
    try:
        work(order)
    except Refused as refused:
        says = f"{order.cylinder}: {refused.says}"
        return Told(says, goto, Tone.FAIL, _("NOT EXPECTED"), refused.cites)
    return Told(
        _("%(cylinder)s, order %(order)s.") % {"cylinder": order.cylinder, "order": order.pk},
        goto,
        Tone.OK,
        done,
    )


def visit_of(named: Named) -> WorkOrder | None:
    """The open visit of the cylinder that a live tag stands for."""
    if named.cylinder is None or named.state is not ScanState.LIVE:
        return None
    visits = named.cylinder.work_orders.select_related("cylinder")
    return visits.filter(closed_at__isnull=True).first()


def packed(run: Consignment) -> list[Packed]:
    """The lines of a run in the order of packing."""
    lines = list(run.lines.select_related("work_order__cylinder").order_by("pk"))
    cylinders = [line.work_order.cylinder_id for line in lines]
    live = Tag.objects.filter(cylinder__in=cylinders, kind=TagKind.CYLINDER, state=TagState.LIVE)
    tags = {tag.cylinder_id: tag for tag in live}
    return [Packed(line, line.work_order, tags.get(line.work_order.cylinder_id)) for line in lines]


def _home(run: Consignment) -> tuple[int, int]:
    return run.lines.filter(returned_at__isnull=False).count(), run.lines.count()


def _page(run: Consignment) -> str:
    return reverse("run", args=[run.pk])
