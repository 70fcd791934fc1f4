"""Whose it is: an owner is found by name or number, or added."""

import datetime as dt
import re

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.status.person import WORDING
from cylinders.facts import Actor
from cylinders.models import Customer
from cylinders.operations import privacy
from cylinders.rules.wording import say

_NUMBERED = re.compile(r".*\(([0-9]{1,12})\)", re.ASCII | re.DOTALL)
_MOST_SHOWN = 6
_MOST_LISTED = 200


def listed() -> list[str]:
    """Owners as the field suggests them, latest first: "Odo Quill (12)"."""
    return [f"{owner.name} ({owner.pk})" for owner in _known().order_by("-pk")[:_MOST_LISTED]]


def find_owner(text: str) -> Customer | None:
    """The owner that was written, None for nobody; raises ``ValidationError`` for several."""
    numbered = _NUMBERED.fullmatch(text)
    if numbered:
        return _known().filter(pk=int(numbered[1])).first()
    same = list(_known().filter(name__iexact=text)[: _MOST_SHOWN + 1])
    if len(same) > 1:
        names = ", ".join(f"{one.name} ({one.pk})" for one in same[:_MOST_SHOWN])
        raise ValidationError(
            _("There is more than one: %(names)s. Write the number too.") % {"names": names}
        )
    return same[0] if same else None


class OwnerFields(fields.PageForm):
    """An owner who is known, or a new one with name and how to reach them."""

    owner = fields.line(say("Whose is it?"), hint=say("Begin to type a name."), list="owners")
    new_owner = fields.tick(say("A new customer: add that name"))
    phone = fields.line(say("Telephone, if new"), required=False, inputmode="tel")
    email = forms.EmailField(
        label=say("E-mail, if new"),
        required=False,
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )
    consent = fields.tick(say("Wants reminders by e-mail"))
    tongue = fields.pick(say("Language of messages"), fields.languages(), required=False)

    def clean_owner(self) -> str:
        """The name as written, when it is somebody or is to be added."""
        text: str = self.cleaned_data["owner"].strip()
        if self.data.get("new_owner"):
            return text
        if find_owner(text) is None:
            raise ValidationError(_("Nobody of that name is known. Tick below to add them."))
        return text

    def owner_id(self, *, at: dt.datetime, by: Actor) -> int:
        """The number of the owner; adds a new one, with what they agreed to."""
        data = self.cleaned_data
        if not data["new_owner"]:
            owner = find_owner(data["owner"])
            return owner.pk if owner else 0
        new = Customer.objects.create(
            name=data["owner"],
            phone=data["phone"],
            email=data["email"],
            language=data["tongue"] or settings.LANGUAGE_CODE,
        )
        if data["consent"] and data["email"]:
            privacy.agree(customer_id=new.pk, given=True, wording=WORDING, at=at, by=by)
        return new.pk


def _known() -> QuerySet[Customer]:
    return Customer.objects.filter(erased_at__isnull=True)
