"""The check of the day: entered once for a chamber, and leaned on by the records of that day."""

import datetime as dt
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from api import posted_reports
from api.pages.fields import PageForm
from api.pages.lab import form as fields
from api.pages.lab.sign_in import FAULTS, LabPage
from cylinders.models import LabReport, ReportState
from cylinders.queries.lab_reports import body_of, reports
from cylinders.rules.judgement import Problem, UnusableBody
from cylinders.rules.lab_reports.bodies import CalibrationBody, ReportKind
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

_PLACES: Mapping[str, str] = {
    "/certificate/number": "certificate",
    "/certificate/date": "certified_on",
    "/certificate": "points",
    "/readings/0/pressure": "pressure",
    "/readings/0/expansion": "expansion",
    "/readings/0/permanent": "permanent",
    "/gauge/full_scale": "full_scale",
    "/gauge": "accuracy_percent",
    "/expansion_device/range": "expansion_range",
    "/expansion_device/increment": "increment",
}


@dataclass(frozen=True, slots=True)
class Shown:
    """One check of the day as the pages show it."""

    lab_reference: str
    came: str
    says: str
    apparatus: str


def of_day(lab_id: int, day: dt.date) -> list[Shown]:
    """The standing checks of one day, in the order of arrival."""
    rows = reports(lab_id=lab_id, kind=ReportKind.CALIBRATION).filter(
        day=day, state=ReportState.STANDING
    )
    return [_shown(row) for row in rows]


def apparatus_of(lab_id: int, chamber: int, day: dt.date) -> str:
    """The name that today's check gave the chamber of that number; empty where none did."""
    names = list(dict.fromkeys(one.apparatus for one in of_day(lab_id, day)))
    ending = [name for name in names if name.endswith(str(chamber))]
    return ending[0] if len(ending) == 1 else ""


class CheckForm(PageForm):
    """One check; every field is text as typed, judged by the reader of the interface."""

    apparatus = fields.line(say("Chamber"), say("as the records name it: chamber 1"))
    time = fields.line(say("Time"), "HH:MM")
    operator = fields.line(say("Operator"))
    cylinder_serial = fields.line(say("Calibrated cylinder"), say("its serial"))
    certificate = fields.line(say("Number of its certificate"))
    certified_on = fields.line(say("Day of its certificate"), "YYYY-MM-DD")
    points = fields.some_lines(
        say("Its certificate"), say("a line each: pressure, blank, expansion"), required=True
    )
    pressure_unit = fields.one_of(say("Unit of pressures"), fields.units(fields.PRESSURES))
    volume_unit = fields.one_of(say("Unit of expansions"), fields.units(fields.VOLUMES))
    pressure = fields.figure(say("Pressure shown"))
    expansion = fields.figure(say("Expansion shown"))
    permanent = fields.figure(say("Permanent shown"))
    gauge_serial = fields.line(say("Gauge, its serial"), required=False)
    full_scale = fields.figure(say("Gauge: full scale"), required=False)
    accuracy_percent = fields.figure(
        say("Gauge: certified accuracy"), say("per cent of full scale"), required=False
    )
    expansion_serial = fields.line(say("Expansion device, its serial"), required=False)
    expansion_range = fields.figure(say("Expansion device: reads to"), required=False)
    increment = fields.figure(say("Expansion device: smallest division"), required=False)

    def note(self, problems: Iterable[Problem]) -> None:
        """Put each problem beside the field that it is about."""
        for problem in problems:
            begins = next((place for place in _PLACES if problem.pointer.startswith(place)), "")
            name = _PLACES.get(begins, "") or problem.pointer.strip("/").partition("/")[0]
            known = name in self.fields
            self.add_error(name if known else None, problem.says if known else str(problem))


class Checks(LabPage):
    """Today's checks, and the form of one more."""

    tab = "checks"

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show them; certificate and devices are those of the last check."""
        return self._show(request, CheckForm(initial=self._first()))

    def post(self, request: HttpRequest) -> HttpResponse:
        """Keep one more; the records of the day that wait for it are judged again."""
        form = CheckForm(request.POST)
        if form.is_valid():
            reference = f"C{self.on:%y%m%d}-{secrets.token_hex(3).upper()}"
            value = _body(form.cleaned_data, day=self.on.isoformat(), reference=reference)
            try:
                posted_reports.receive(
                    lab_id=self.lab.pk,
                    kind=ReportKind.CALIBRATION,
                    value=value,
                    at=self.at,
                    by=self.by,
                )
            except UnusableBody as unusable:
                form.note(unusable.problems)
            except Refused as refused:
                form.add_error(None, refused.says)
            else:
                return HttpResponseRedirect(reverse("lab-checks"))
        return self._show(request, form, FAULTS)

    def _show(self, request: HttpRequest, form: forms.Form, status: int = 200) -> HttpResponse:
        day = of_day(self.lab.pk, self.on)
        return self.show(request, "lab/checks.html", status, form=form, checks=day)

    def _first(self) -> dict[str, str]:
        now = timezone.localtime(self.at)
        first = {"time": f"{now:%H:%M}", "pressure_unit": "psi", "volume_unit": "cc"}
        last = reports(lab_id=self.lab.pk, kind=ReportKind.CALIBRATION).last()
        body = body_of(last) if last else None
        return first | (_again(body) if isinstance(body, CalibrationBody) else {})


def _again(body: CalibrationBody) -> dict[str, str]:
    """What the next check shares with the last one; nothing that was read."""
    pressure, volume = body.points[0].pressure.unit, body.points[0].expansion.unit
    gauge, device = body.gauge, body.expansion_range
    return {
        "apparatus": body.apparatus,
        "operator": body.operator,
        "cylinder_serial": body.cylinder_serial,
        "certificate": body.certificate,
        "certified_on": body.certified_on.isoformat(),
        "points": "\n".join(f"{p.pressure.value:f} {p.expansion.value:f}" for p in body.points),
        "pressure_unit": pressure,
        "volume_unit": volume,
        "gauge_serial": body.gauge_serial,
        "full_scale": f"{gauge.full_scale.value:f}" if gauge else "",
        "accuracy_percent": f"{gauge.accuracy_percent:f}" if gauge else "",
        "expansion_serial": body.expansion_serial,
        "expansion_range": f"{device.value:f}" if device else "",
        "increment": f"{body.expansion_increment.value:f}" if body.expansion_increment else "",
    }


def _body(typed: Mapping[str, str], *, day: str, reference: str) -> dict[str, Any]:
    """The check in the shape that a program posts; empty fields become null."""
    given = {name: value.strip() or None for name, value in typed.items()}

    def psi(name: str) -> dict[str, Any] | None:
        return {"value": given[name], "unit": typed["pressure_unit"]} if given[name] else None

    def cc(name: str) -> dict[str, Any] | None:
        return {"value": given[name], "unit": typed["volume_unit"]} if given[name] else None

    points = []
    for line in typed["points"].splitlines():
        at, _blank, grown = line.strip().partition(" ")
        if at:
            units = typed["pressure_unit"], typed["volume_unit"]
            pressure = {"value": at, "unit": units[0]}
            points.append(
                {"pressure": pressure, "expansion": {"value": grown.strip(), "unit": units[1]}}
            )
    gauge = {"full_scale": psi("full_scale"), "accuracy_percent": given["accuracy_percent"]}
    device = {
        "serial": given["expansion_serial"],
        "range": cc("expansion_range"),
        "increment": cc("increment"),
    }
    reading = {name: cc(name) for name in ("expansion", "permanent")} | {
        "pressure": psi("pressure")
    }
    return {
        "lab_reference": reference,
        "date": day,
        **{name: given[name] for name in ("time", "apparatus", "operator", "cylinder_serial")},
        "certificate": {
            "number": given["certificate"],
            "date": given["certified_on"],
            "points": points,
        },
        "readings": [reading],
        "gauge": gauge | {"kind": "digital"} if any(gauge.values()) else None,
        "gauge_serial": given["gauge_serial"],
        "expansion_device": device if any(device.values()) else None,
    }


def _shown(row: LabReport) -> Shown:
    body = body_of(row)
    if not isinstance(body, CalibrationBody):
        raise TypeError(f"report {row.pk} is no daily check")
    told = {
        "apparatus": body.apparatus,
        "serial": body.cylinder_serial,
        "time": f"{body.time:%H:%M}",
    }
    says = _("%(apparatus)s with %(serial)s at %(time)s") % told
    why = " ".join(row.answer["reasons"])
    return Shown(row.lab_reference, row.came, f"{says}. {why}".strip(), body.apparatus)
