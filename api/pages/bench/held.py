"""Lab records that contradict something: a person sees what against what, and decides."""

import json
from typing import Any, ClassVar

from django.db.models import Q
from django.forms import Form
from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.checked import checked
from api.pages.page import BenchPage, Forms
from api.pages.told import Told, Tone
from api.wording import told, word
from cylinders.models import Cylinder, LabReport, RecordState, TestRecord
from cylinders.operations import retest, settling
from cylinders.rules.wording import say

#: values that come from a list, so that they are shown as words
_LISTED = ("water_jacket", "direct_expansion", "proof_pressure", "passed", "rejected", "condemned")
_SHOWN = (
    "date",
    "method",
    "test_pressure",
    "hold_seconds",
    "total_expansion",
    "permanent_expansion",
    "disposition",
    "reason",
    "operator",
    "rin",
    "stamp",
)


class Held(BenchPage):
    """The queue, oldest first."""

    template = "pages/bench/held.html"
    tab = "board"

    def context(self) -> dict[str, Any]:
        """Everything that waits."""
        held = TestRecord.objects.filter(state=RecordState.HELD).select_related(
            "lab", "cylinder", "supersedes"
        )
        records = held.order_by("received_at")
        return {"records": [(record, _why(record)) for record in records]}


def _why(record: TestRecord) -> list[str]:
    """What contradicts what: of a correction that waits, and of the record itself."""
    waits = settling.why_waits(record, record.supersedes)
    return [*filter(None, [waits]), *record.answer["reasons"]]


class Decide(fields.PageForm):
    """Attach it as its numbers say, or dismiss it; never with a better verdict."""

    attach = fields.pick(
        say("What is it?"),
        [("yes", say("It is this cylinder's: attach it")), ("no", say("It is not: dismiss it"))],
    )
    reason = fields.text(say("What you compared, and what you found"))


class Record(BenchPage):
    """One record: every check, what the lab sent, what the cylinder bears."""

    template = "pages/bench/record.html"
    forms: ClassVar[Forms] = {"decide": Decide}
    record: TestRecord

    def prepare(self) -> None:
        """Load the record."""
        found = TestRecord.objects.select_related("lab", "cylinder", "work_order", "supersedes")
        record = found.filter(pk=self.kwargs["pk"]).first()
        if record is None:
            raise Http404(f"no record {self.kwargs['pk']}")
        self.record = record

    def context(self) -> dict[str, Any]:
        """The checks, worst first, and both sides of what was compared."""
        body = json.loads(self.record.body)
        return checked(self.record.answer) | {
            "record": self.record,
            "sent": [(word(name), plain(body.get(name))) for name in _SHOWN],
            "sides": sides(body.get("cylinder") or {}, self.record.cylinder),
            "held": self.record.state == RecordState.HELD,
            "waits": settling.why_waits(self.record, self.record.supersedes),
            "reports": self._reports(),
        }

    def _reports(self) -> list[LabReport]:
        """What the lab reported beside it: the check that it leans on, and those of the visit."""
        own = Q(pk=self.record.daily_check_id)
        if self.record.work_order_id is not None:
            own |= Q(lab=self.record.lab_id, work_order=self.record.work_order_id)
        return list(LabReport.objects.filter(own).order_by("day", "pk"))

    def act(self, _name: str, form: Form) -> Told:
        """Decide."""
        record = retest.decide_held(
            record_id=self.record.pk,
            attach=form.cleaned_data["attach"] == "yes",
            reason=form.cleaned_data["reason"],
            at=self.at,
            by=self.by,
        )
        if record.state == RecordState.DISMISSED:
            return Told(_("Dismissed. Ask the lab for the right record."), tone=Tone.CAUTION)
        good = record.verdict == "passed"
        tone = Tone.OK if good else Tone.FAIL
        says = _("Attached; its verdict follows from its numbers.")
        return Told(says, reverse("record", args=[record.pk]), tone, told(record.verdict).upper())


def sides(sent: dict[str, Any], cylinder: Cylinder) -> list[tuple[str, str, str, bool]]:
    """What the lab wrote of the cylinder beside what is known of it, and whether they are equal."""
    known = {
        "authority": cylinder.authority,
        "specification": cylinder.specification,
        "serial": cylinder.serial,
        "manufacturer_mark": cylinder.manufacturer_mark,
        "service_pressure": f"{cylinder.service_pressure} {cylinder.pressure_unit}".strip(),
        "first_test": cylinder.first_test,
        "alloy": cylinder.alloy,
    }
    rows = []
    for name, own in known.items():
        theirs = plain(sent.get(name))
        rows.append((word(name), theirs, own, theirs == own or not theirs))
    return rows


def plain(value: Any) -> str:
    """A value of a record as a person reads it; nothing stays nothing."""
    if value is None:
        return ""
    if isinstance(value, dict):
        # The kept body has its members by the alphabet; a figure comes before its unit.
        first = {name: value[name] for name in ("value", "unit") if name in value}
        return " ".join(str(part) for part in (first | value).values() if part is not None)
    return word(value) if value in _LISTED else str(value)
