"""The lab's own log of a day, on screen and as files, and one of its tests as a file."""

import datetime as dt

from django.http import Http404, HttpRequest, HttpResponse

from api import test_logs
from api.pages.lab.sign_in import LabPage
from api.pages.log_file import file_of
from cylinders.queries import for_lab


class Log(LabPage):
    """Everything that the lab did on one day."""

    tab = "log"

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show it; today's unless the address names another day."""
        try:
            day = dt.date.fromisoformat(request.GET.get("day", self.on.isoformat()))
        except ValueError:
            day = self.on
        log = test_logs.of_day(self.lab, day)
        return self.show(request, "lab/log.html", log=log, day=day)


class LogFile(LabPage):
    """The same as CSV or PDF."""

    def get(self, _request: HttpRequest, day: str, form: str) -> HttpResponse:
        """The file, or 404."""
        try:
            asked = dt.date.fromisoformat(day)
        except ValueError as wrong:
            raise Http404(day) from wrong
        return file_of(test_logs.of_day(self.lab, asked), form)


class RecordFile(LabPage):
    """One test as CSV or PDF."""

    def get(self, _request: HttpRequest, reference: str, form: str) -> HttpResponse:
        """The file, or 404 for one that this lab did not send."""
        record = for_lab.records(lab_id=self.lab.pk).filter(lab_reference=reference).first()
        if record is None:
            raise Http404(reference)
        return file_of(test_logs.of_record(record), form)
