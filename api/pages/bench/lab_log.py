"""Logs of tests at the bench: a lab's day, the tests of one cylinder; on screen and as files."""

import datetime as dt
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from api import lab_numbers, test_logs
from api.pages import fields
from api.pages.log_file import file_of
from api.pages.page import BenchPage, StaffView
from cylinders.models import Cylinder, Lab
from cylinders.rules.wording import say


class WhichDay(fields.PageForm):
    """Whose log, of which day."""

    lab = forms.ModelChoiceField(Lab.objects.order_by("name"), label=say("Lab"), empty_label=None)
    day = forms.DateField(label=say("Day"), widget=forms.DateInput(attrs={"type": "date"}))


class LabLog(BenchPage):
    """Every test of a lab on a day, unsuccessful ones too."""

    template = "pages/bench/lab_log.html"
    tab = "runs"

    def context(self) -> dict[str, Any]:
        """The log that the address asks for, and which numbers are to end."""
        asked = WhichDay(self.request.GET if "day" in self.request.GET else None)
        lab = day = log = None
        if asked.is_bound and asked.is_valid():
            lab, day = asked.cleaned_data["lab"], asked.cleaned_data["day"]
            log = test_logs.of_day(lab, day)
        elif not asked.is_bound:
            asked = WhichDay(initial={"day": self.on, "lab": Lab.objects.order_by("name").first()})
        numbers = [finding for _lab, finding in lab_numbers.findings(on=self.on)]
        return {"asked": asked, "lab": lab, "day": day, "log": log, "numbers": numbers}


class LabLogFile(StaffView):
    """The same as CSV or PDF."""

    def get(self, _request: HttpRequest, lab: int, day: str, form: str) -> HttpResponse:
        """The file, or 404."""
        found = Lab.objects.filter(pk=lab).first()
        try:
            asked = dt.date.fromisoformat(day)
        except ValueError as wrong:
            raise Http404(_("That is no day.")) from wrong
        if found is None:
            raise Http404(_("There is no such lab."))
        return file_of(test_logs.of_day(found, asked), form)


class CylinderLogFile(StaffView):
    """All tests of one cylinder as CSV or PDF."""

    def get(self, _request: HttpRequest, pk: int, form: str) -> HttpResponse:
        """The file, or 404."""
        found = Cylinder.objects.filter(pk=pk).first()
        if found is None:
            raise Http404(_("There is no such cylinder."))
        return file_of(test_logs.of_cylinder(found), form)
