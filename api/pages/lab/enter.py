"""Enter one test record: read, look at what the service says of it, then send the very same."""

import hashlib
import secrets
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from api import at_the_lab, posted_records
from api.at_the_lab import InHand
from api.pages.lab import typed
from api.pages.lab.form import RecordForm
from api.pages.lab.sign_in import FAULTS, LabPage
from api.posted_records import canonical
from cylinders.queries import for_lab
from cylinders.rules import judgement
from cylinders.rules.judgement import UnusableBody
from cylinders.rules.refusal import Refused

REFUSED, NOT_FOUND = 409, 404
_LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"


class Enter(LabPage):
    """The form of one cylinder. What was looked at is what is sent: a changed form is looked at."""

    def get(self, request: HttpRequest, line: int) -> HttpResponse:
        """A form with what is known already; the serial is the lab's to read."""
        item = self._item(line)
        if item is None:
            return self.show(request, "lab/not_here.html", NOT_FOUND)
        first = typed.first_values(
            item.cylinder,
            day=self.on.isoformat(),
            reference=_reference(self.on.strftime("%y%m%d")),
        )
        return self._show(request, item, RecordForm(initial=first | self._kept(request)))

    def post(self, request: HttpRequest, line: int) -> HttpResponse:
        """Judge what was typed; send it if this very content was looked at before."""
        item = self._item(line)
        if item is None:
            return self.show(request, "lab/not_here.html", NOT_FOUND)
        form = RecordForm(request.POST)
        looked: dict[str, Any] = {}
        status = FAULTS
        if form.is_valid():
            self._keep(request, form.cleaned_data)
            value = typed.body_of(
                form.cleaned_data, tag=item.tag or item.teardown_tag, rin=self.lab.rin
            )
            seen = hashlib.sha256(canonical(value).encode()).hexdigest()
            try:
                body = posted_records.read(value)
                if request.POST.get("seen") == seen and "look" not in request.POST:
                    return self._send(item, value)
                judged = for_lab.judged(
                    lab_id=self.lab.pk, cylinder=item.cylinder, body=body, on=self.on
                )
                looked = {"answer": judgement.as_json(judged), "seen": seen}
                status = 200
            except UnusableBody as unusable:
                form.note(unusable.problems)
            except Refused as refused:
                looked, status = {"refused": refused.says}, REFUSED
        if "look" in request.POST:  # a script asks while somebody types
            return render(request, "lab/judgement.html", looked | {"form": form})
        return self._show(request, item, form, status=status, **looked)

    def _send(self, item: InHand, value: dict[str, Any]) -> HttpResponse:
        received = posted_records.receive(
            lab_id=self.lab.pk, value=value, at=self.at, by=self.by, picked=item.cylinder
        )
        return HttpResponseRedirect(reverse("lab-record", args=[received.record.lab_reference]))

    def _item(self, line: int) -> InHand | None:
        lines = list(for_lab.lines_sent(lab_id=self.lab.pk).filter(pk=line))
        return at_the_lab.in_hand(lab_id=self.lab.pk, lines=lines)[0] if lines else None

    def _show(
        self, request: HttpRequest, item: InHand, form: RecordForm, status: int = 200, **looked: Any
    ) -> HttpResponse:
        return self.show(request, "lab/enter.html", status, item=item, form=form, **looked)

    def _keep(self, request: HttpRequest, given: dict[str, str]) -> None:
        """Keep in the session what the next cylinder of the day shares with this one."""
        names = (*typed.KEPT, *typed.KEPT_FOR_THE_DAY)
        request.session["lab_kept"] = {name: given[name] for name in names}

    def _kept(self, request: HttpRequest) -> dict[str, str]:
        kept: dict[str, str] = request.session.get("lab_kept", {})
        today = kept.get("check_date") == self.on.isoformat()
        names = (*typed.KEPT, *(typed.KEPT_FOR_THE_DAY if today else ()))
        return {name: kept[name] for name in names if kept.get(name)}


def _reference(day: str) -> str:
    """A reference that nobody has used: the day and six random symbols."""
    return f"W{day}-" + "".join(secrets.choice(_LETTERS) for _ in range(6))
