"""What the lab has in its hands, and the scan that opens one of it."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext as _

from api import at_the_lab
from api.pages.lab.sign_in import LabPage
from cylinders.models import TestRecord
from cylinders.queries import for_lab
from cylinders.rules.refusal import Refused

MOST_SHOWN, LATEST = 500, 20
NOT_FOUND = 404


class InHand(LabPage):
    """The list; the scan field is in focus, so that a hand scanner needs no key before it."""

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show the list, or what the scan opened."""
        code = request.GET.get("code")
        if code is None:
            return self._list(request)
        try:
            cylinder = at_the_lab.by_tag(lab_id=self.lab.pk, text=code)
        except Refused as refused:
            return self._list(request, refused=refused.says, status=NOT_FOUND)
        line = for_lab.lines_sent(lab_id=self.lab.pk).filter(work_order__cylinder=cylinder).last()
        if line is None:  # it went home between the two looks
            return self._list(request, refused=_("It has just gone home."), status=NOT_FOUND)
        return HttpResponseRedirect(reverse("lab-enter", args=[line.pk]))

    def _list(self, request: HttpRequest, *, refused: str = "", status: int = 200) -> HttpResponse:
        lines = list(for_lab.lines_in_hand(lab_id=self.lab.pk)[:MOST_SHOWN])
        return self.show(
            request,
            "lab/in_hand.html",
            status,
            refused=refused,
            items=at_the_lab.in_hand(lab_id=self.lab.pk, lines=lines),
            records=TestRecord.objects.filter(lab=self.lab).order_by("-pk")[:LATEST],
            number_ends=self.lab.rin_valid_until,
            number_ended=self.lab.rin_valid_until < self.on,
        )
