"""Recall, for an owner of the shop: what stands on something in doubt, and who is told of it."""

import datetime as dt
from dataclasses import dataclass
from smtplib import SMTPException
from typing import Any, ClassVar

from django import forms
from django.core.mail import send_mail
from django.db import transaction
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from api import arming, recall_letters
from api.pages import fields
from api.pages.page import BenchPage, Forms, StaffView
from api.pages.told import Told
from cylinders.models import Customer, LetterState, RecallLetter, TestRecord
from cylinders.operations import recalling
from cylinders.queries.recall import FIELDS, Suspect, affected, row
from cylinders.rules.refusal import Refused
from cylinders.rules.sheet import as_csv
from cylinders.rules.wording import say

_NAMES = ("calibrated_cylinder", "equipment", "operator", "rin")


class Ask(fields.PageForm):
    """What is in doubt, and in which days."""

    calibrated_cylinder = fields.line(say("Calibrated cylinder, its serial"), required=False)
    equipment = fields.line(
        say("Equipment"),
        hint=say("apparatus, gauge, expansion device or eddy current set, as it was written"),
        required=False,
    )
    operator = fields.line(say("Operator"), required=False)
    rin = fields.line(say("A lab's number"), required=False)
    first = forms.DateField(label=say("From"), widget=forms.DateInput(attrs={"type": "date"}))
    last = forms.DateField(label=say("To"), widget=forms.DateInput(attrs={"type": "date"}))

    def clean(self) -> dict[str, Any]:
        """Something is asked for, and the days are in order."""
        given: dict[str, Any] = super().clean() or {}
        if not any(given.get(name) for name in _NAMES):
            raise forms.ValidationError(
                _("Say what is in doubt: a recall of everything is a slip.")
            )
        if given.get("first") and given.get("last") and given["last"] < given["first"]:
            raise forms.ValidationError(_("The last day is before the first."))
        return given


@dataclass(frozen=True, slots=True)
class Asked:
    """One question, and its name."""

    suspect: Suspect
    first: dt.date
    last: dt.date

    @property
    def key(self) -> str:
        """The name under which each owner is told once."""
        return recalling.key_of(self.suspect, self.first, self.last)

    def records(self) -> list[TestRecord]:
        """Everything that stands on it."""
        return list(affected(suspect=self.suspect, first=self.first, last=self.last))


@dataclass(frozen=True, slots=True)
class Row:
    """One owner: the records, the letter if one went, and whether a mail can go."""

    owner: Customer
    records: list[TestRecord]
    letter: RecallLetter | None
    by_mail: bool
    open: bool

    @property
    def may_reach_twice(self) -> bool:
        """Whether a letter may have gone already."""
        return self.letter is not None and self.letter.state == LetterState.SENDING


class Tell(fields.PageForm):
    """The confirmation for one owner."""

    customer = forms.IntegerField(widget=forms.HiddenInput)
    reason = fields.text(say("What was found to be wrong, for the owner to read"))
    sure = fields.tick(say("I have read the letter"), fault=say("Read the letter, then tick this."))


class Recall(BenchPage):
    """Ask; see every cylinder and owner; confirm each owner's letter."""

    template = "pages/bench/recall.html"
    forms: ClassVar[Forms] = {"mail": Tell, "paper": Tell}
    tab = "runs"

    def asked(self) -> tuple[Ask, Asked | None]:
        """The question in the address, and the form that shows it."""
        return question(self.request)

    def context(self) -> dict[str, Any]:
        """What stands on it, owner by owner."""
        form, asked = self.asked()
        if asked is None:
            return {"asked": form, "rows": None}
        letters = {row.customer_id: row for row in RecallLetter.objects.filter(recall=asked.key)}
        owners = recalling.by_owner(asked.records())
        rows = [
            self._row(owner, records, letters.get(owner.pk)) for owner, records in owners.items()
        ]
        return {"asked": form, "rows": rows, "query": self.request.GET.urlencode()}

    def _row(self, owner: Customer, records: list[TestRecord], letter: RecallLetter | None) -> Row:
        may = letter is None or recalling.may_be_told(letter, at=self.at)
        return Row(owner, records, letter, recall_letters.by_mail(owner), may)

    def act(self, name: str, form: Form) -> Told:
        """Tell one owner, by mail or on paper."""
        _shown, asked = self.asked()
        if asked is None:
            raise Refused("nothing_asked", _("Ask first what is in doubt."))
        if name == "mail" and not arming.is_armed():
            raise Refused("silent", _("Messages are paused: nothing goes out."))
        wanted = form.cleaned_data["customer"]
        owners = {
            owner.pk: (owner, mine) for owner, mine in recalling.by_owner(asked.records()).items()
        }
        if wanted not in owners:
            raise Refused("not_affected", _("That owner has no cylinder in this recall."))
        owner, records = owners[wanted]
        told: dict[int, list[int]] = {}
        for record in records:
            told.setdefault(record.cylinder_id, []).append(record.pk)
        letter = recalling.confirm(
            recall=asked.key,
            customer_id=owner.pk,
            told=told,
            reason=form.cleaned_data["reason"],
            on_paper=name == "paper",
            at=self.at,
            by=self.by,
        )
        where = f"{self.request.path}?{self.request.GET.urlencode()}"
        if name == "paper":
            return Told(_("Noted as handed over on paper. Print the letter below."), where)
        # After the row is stored: a letter never goes without it, so never twice.
        transaction.on_commit(lambda: self._mail(letter, owner, records))
        return Told(_("Handed to the mail server. What came of it stands with the owner."), where)

    def _mail(self, letter: RecallLetter, owner: Customer, records: list[TestRecord]) -> None:
        text = recall_letters.text(owner, records, letter.reason)
        try:
            send_mail(recall_letters.subject(), text, None, [owner.email])
        except (OSError, SMTPException):
            sent = False
        else:
            sent = True
        recalling.settle(letter_id=letter.pk, sent=sent, at=self.at, by=self.by)


class RecallFile(StaffView):
    """The list as CSV."""

    def get(self, request: HttpRequest) -> HttpResponse:
        """The file; 404 where nothing that can be used is asked."""
        _form, asked = question(request)
        if asked is None:
            raise Http404(_("Say what is in doubt, and in which days."))
        rows = [row(record) for record in asked.records()]
        text = as_csv(FIELDS, rows)
        response = HttpResponse(text, content_type="text/csv; charset=utf-8")
        response.headers["Content-Disposition"] = (
            f'attachment; filename="recall-{asked.key[:8]}.csv"'
        )
        return response


class RecallLetterPage(StaffView):
    """The letter to one owner, to read before it goes and to print."""

    def get(self, request: HttpRequest, customer: int) -> HttpResponse:
        """The letter as plain text; 404 for an owner who is not affected."""
        _form, asked = question(request)
        owners = recalling.by_owner(asked.records()) if asked else {}
        found = next(((o, records) for o, records in owners.items() if o.pk == customer), None)
        if asked is None or found is None:
            raise Http404(_("That owner has no cylinder in this recall."))
        letter = RecallLetter.objects.filter(recall=asked.key, customer=customer).first()
        reason = letter.reason if letter else request.GET.get("reason", "")
        text = recall_letters.text(*found, reason or _("(what was found to be wrong)"))
        return HttpResponse(text, content_type="text/plain; charset=utf-8")


def question(request: HttpRequest) -> tuple[Ask, Asked | None]:
    """What the address asks, where it can be used."""
    if "first" not in request.GET:
        return Ask(), None
    form = Ask(request.GET)
    if not form.is_valid():
        return form, None
    data = form.cleaned_data
    suspect = Suspect(**{name: data[name].strip() for name in _NAMES})
    return form, Asked(suspect, data["first"], data["last"])
