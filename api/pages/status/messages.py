"""The shop's page of its messages: what goes out, what failed; pause, stop, try again."""

import datetime as dt
import re
from typing import Any, ClassVar

from django import forms
from django.db import transaction
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from api import found, letters
from api.models import FoundMessage
from api.pages.fields import PageForm
from api.pages.page import BenchPage, StaffView
from api.pages.told import Told, Tone
from cylinders.models import MessageKind, Notice, Shop
from cylinders.operations import reminders
from cylinders.operations.reminders import Letter, Line, steering
from cylinders.operations.reminders.reasons import days_for
from cylinders.queries.due import duties_of
from cylinders.queries.messages import by_day, messages
from cylinders.rules.duty import DutyKind

_WHOLE = re.compile(r"-?[0-9]{1,3}", re.ASCII)
_SECRET = re.compile(r"(/[su]/)\S+")
WEEK = dt.timedelta(days=7)
AHEAD = 31


class Pause(PageForm):
    """Whether messages are held back from now on."""

    paused = forms.BooleanField(required=False, widget=forms.HiddenInput)


class One(PageForm):
    """Which message is meant."""

    notice = forms.IntegerField(widget=forms.HiddenInput)


class Days(PageForm):
    """On which days one duty is reminded of."""

    duty = forms.CharField(max_length=24, widget=forms.HiddenInput)
    days = forms.CharField(max_length=80)

    def clean_days(self) -> list[int]:
        """Whole numbers between blanks or commas."""
        words = self.cleaned_data["days"].replace(",", " ").split()
        if not all(_WHOLE.fullmatch(word) for word in words):
            raise forms.ValidationError(_("Write whole numbers of days, such as 60 30 7 0 -30."))
        return [int(word) for word in words]


class Messages(BenchPage):
    """What goes out this week; with ``?ahead`` also what would go in the month after."""

    template = "status/messages.html"
    tab = "messages"
    forms: ClassVar[dict[str, type[PageForm]]] = {
        "pause": Pause,
        "stop": One,
        "again": One,
        "found": One,
        "days": Days,
    }

    def context(self) -> dict[str, Any]:
        """The lists, and the month ahead where it was asked for."""
        shop = Shop.objects.first()
        ahead = None
        if "ahead" in self.request.GET:
            ahead = by_day(list(reminders.outlook(on=self.on, ahead=AHEAD)), on=self.on)
        return {
            "messages_of": messages(on=self.on, since=self.at - WEEK),
            "found": FoundMessage.objects.filter(handled_at__isnull=True).order_by("at"),
            "paused": bool(shop and shop.notices_paused),
            "ahead": ahead,
            "month": AHEAD,
            "plan": _days_of(shop),
        }

    def act(self, name: str, form: Form) -> Told:
        """Pause or start all, stop one, try one again."""
        here = reverse("messages")
        if name == "pause":
            paused = form.cleaned_data["paused"]
            steering.pause(paused=paused)
            if paused:
                says = _("Nothing is sent until you start it again; nothing is lost.")
                return Told(says, here, Tone.CAUTION, _("PAUSED"))
            return Told(_("Messages go out again in the shop's hours."), here, word=_("STARTED"))
        if name == "days":
            told = form.cleaned_data
            days = steering.set_days(duty=told["duty"], days_before=told["days"])
            return Told(
                _("Reminded of on these days before: %(days)s.")
                % {"days": " ".join(map(str, days))},
                here,
            )
        number = form.cleaned_data["notice"]
        if name == "found":
            found.handled(message_id=number, at=self.at)
            return Told(_("Done."), here)
        if name == "stop":
            steering.stop(notice_id=number, at=self.at)
            return Told(_("That message is not sent. Others of the same duty still are."), here)
        steering.try_again(notice_id=number)
        return Told(_("It is tried again at the next sweep, within a minute."), here)


def _days_of(shop: Shop | None) -> list[tuple[DutyKind, str]]:
    """Each duty with its days, as a person types them."""
    return [(duty, " ".join(map(str, days_for(duty, shop=shop)))) for duty in DutyKind]


class Preview(StaffView):
    """A message as it would go today; its links are left out."""

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        """Show the text and what the subject would be."""
        row = Notice.objects.select_related("cylinder", "customer").filter(pk=pk).first()
        if row is None:
            raise Http404(f"no message {pk}")
        with transaction.atomic():
            letter = self._write(row)
            transaction.set_rollback(True)
        # The way to decline is the customer's own, and would work here too.
        text = _SECRET.sub(r"\1…", letter.text)
        context = {"row": row, "subject": letter.subject, "text": text}
        return render(request, "status/preview.html", context)

    def _write(self, row: Notice) -> Letter:
        duties = duties_of(row.cylinder, on=self.on)
        duty = next((duty for duty in duties if duty.kind.value == row.duty), None)
        kind = MessageKind.VISIT if row.occasion else MessageKind.REMINDERS
        lines = [Line(row, row.cylinder, duty)]
        return letters.write(customer=row.customer, kind=kind, lines=lines, on=self.on, at=self.at)
