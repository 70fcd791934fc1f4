"""Enter one test record: read, look at what the service says of it, then send the very same."""

import datetime as dt
import hashlib
import secrets
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from api import at_the_lab, posted_records
from api.at_the_lab import InHand
from api.models import LabDraft
from api.pages.lab import checks, typed
from api.pages.lab.form import RecordForm
from api.pages.lab.sign_in import FAULTS, LabPage
from api.posted_records import canonical
from cylinders.queries import for_lab
from cylinders.rules import judgement
from cylinders.rules.judgement import UnusableBody
from cylinders.rules.refusal import Refused

REFUSED, NOT_FOUND = 409, 404
#: the places in which a lab has a cylinder under water at one time
CHAMBERS = (1, 2)
_LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"


class Enter(LabPage):
    """The form of one cylinder. What was looked at is what is sent: a changed form is looked at."""

    def get(self, request: HttpRequest, line: int) -> HttpResponse:
        """A form with what is known already; the serial is the lab's to read."""
        item = self._item(line)
        if item is None:
            return self.show(request, "lab/not_here.html", NOT_FOUND)
        return self._show(request, item, fresh_form(item, request, on=self.on))

    def post(self, request: HttpRequest, line: int) -> HttpResponse:
        """Judge what was typed; send it if this very content was looked at before."""
        item = self._item(line)
        if item is None:
            return self.show(request, "lab/not_here.html", NOT_FOUND)
        form = RecordForm(request.POST)
        chamber = chamber_of(request)
        if chamber:
            keep_draft(self.lab.pk, chamber, line, request, at=self.at)
        looked: dict[str, Any] = {"chamber": chamber}
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
                    return self._send(item, value, chamber)
                judged = for_lab.judged(
                    lab_id=self.lab.pk, cylinder=item.cylinder, body=body, on=self.on
                )
                looked |= {"answer": judgement.as_json(judged), "seen": seen}
                status = 200
            except UnusableBody as unusable:
                form.note(unusable.problems)
            except Refused as refused:
                looked["refused"], status = refused.says, REFUSED
        if "look" in request.POST:  # a script asks while somebody types
            return render(request, "lab/judgement.html", looked | {"form": form})
        return self._show(request, item, form, status=status, **looked)

    def _send(self, item: InHand, value: dict[str, Any], chamber: int) -> HttpResponse:
        received = posted_records.receive(
            lab_id=self.lab.pk, value=value, at=self.at, by=self.by, picked=item.cylinder
        )
        if chamber:
            LabDraft.objects.filter(lab=self.lab, chamber=chamber, line=item.line).delete()
            sent = urlencode({"sent": received.record.lab_reference})
            return HttpResponseRedirect(f"{reverse('lab-chambers')}?{sent}")
        return HttpResponseRedirect(reverse("lab-record", args=[received.record.lab_reference]))

    def _item(self, line: int) -> InHand | None:
        lines = list(for_lab.lines_sent(lab_id=self.lab.pk).filter(pk=line))
        return at_the_lab.in_hand(lab_id=self.lab.pk, lines=lines)[0] if lines else None

    def _show(
        self, request: HttpRequest, item: InHand, form: RecordForm, status: int = 200, **looked: Any
    ) -> HttpResponse:
        day = checks.of_day(self.lab.pk, self.on)
        looked |= {"item": item, "form": form, "checks": day}
        return self.show(request, "lab/enter.html", status, **looked)

    def _keep(self, request: HttpRequest, given: dict[str, str]) -> None:
        """Keep in the session what the next cylinder of the day shares with this one."""
        names = (*typed.KEPT, *typed.KEPT_FOR_THE_DAY)
        request.session["lab_kept"] = {name: given[name] for name in names}


def fresh_form(item: InHand, request: HttpRequest, *, on: dt.date, unit: str = "%s") -> RecordForm:
    """The form of a cylinder with what is known of it and what the lab's day keeps.

    ``unit`` makes the names of its controls differ where two forms stand on one page.
    """
    first = typed.first_values(
        item.cylinder, day=on.isoformat(), reference=_reference(on.strftime("%y%m%d"))
    )
    kept: dict[str, str] = request.session.get("lab_kept", {})
    today = kept.get("check_date") == on.isoformat()
    names = (*typed.KEPT, *(typed.KEPT_FOR_THE_DAY if today else ()))
    still = {name: kept[name] for name in names if kept.get(name)}
    return RecordForm(initial=first | still, auto_id=f"id_{unit}")


def chamber_of(request: HttpRequest) -> int:
    """The chamber that a form or an address names; 0 where it names none of them."""
    text = request.POST.get("chamber") or request.GET.get("chamber") or ""
    return int(text) if text in {str(chamber) for chamber in CHAMBERS} else 0


def keep_draft(
    lab_id: int, chamber: int, line: int, request: HttpRequest, *, at: dt.datetime
) -> None:
    """Keep what was typed for a chamber, whole or not; another chamber's is not touched.

    A look that was on its way when the cylinder was sent, or taken out, brings nothing back.
    """
    told = {name: request.POST.get(name, "") for name in RecordForm.base_fields}
    LabDraft.objects.filter(lab_id=lab_id, chamber=chamber, line_id=line).update(
        typed=told, saved_at=at
    )


def _reference(day: str) -> str:
    """A reference that nobody has used: the day and six random symbols."""
    return f"W{day}-" + "".join(secrets.choice(_LETTERS) for _ in range(6))
