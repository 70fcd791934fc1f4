"""One's own PIN for phones that lock themselves, and the language and units that one reads."""

import re
from itertools import pairwise
from typing import Any, ClassVar

from django import forms
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.forms import Form
from django.utils.translation import gettext as _

from api.models import BenchPin, Preference
from api.pages import fields, lock
from api.pages.page import BenchPage, Forms
from api.pages.told import Told
from api.units import PRESSURES, VOLUMES
from cylinders.rules.wording import say

_PIN = re.compile(r"[0-9]{6,12}", re.ASCII)


def _units(units: tuple[str, ...]) -> list[tuple[str, str]]:
    return [("", say("As stamped")), *((unit, unit) for unit in units)]


class NewPin(fields.PageForm):
    """A PIN of six digits or more, set with one's password."""

    pin = forms.CharField(
        label=say("New PIN"),
        help_text=say("Six to twelve digits, not all alike, not a row."),
        widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "new-password"}),
        error_messages={"required": say("Write the new PIN.")},
    )
    password = forms.CharField(
        label=say("Your password"),
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": say("Write your password, so that nobody sets it for you.")},
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user

    def clean_password(self) -> str:
        """The person's own."""
        password: str = self.cleaned_data["password"]
        if not self.user.check_password(password):
            raise ValidationError(_("That is not your password."))
        return password

    def clean_pin(self) -> str:
        """Digits that are not the first to be guessed."""
        pin: str = self.cleaned_data["pin"]
        if not _PIN.fullmatch(pin):
            raise ValidationError(_("Six to twelve digits."))
        steps = {int(two) - int(one) for one, two in pairwise(pin)}
        if len(steps) == 1 and steps <= {-1, 0, 1}:
            raise ValidationError(_("That is the first that somebody would try."))
        return pin


class Reading(fields.PageForm):
    """What somebody wants to read; empty leaves it to the browser and to the stamp."""

    language = fields.pick(
        say("Language"),
        [("", say("As the browser asks")), *fields.languages()],
        required=False,
    )
    pressure_unit = fields.pick(say("Pressures"), _units(PRESSURES), required=False)
    volume_unit = fields.pick(say("Volumes"), _units(VOLUMES), required=False)


class Me(BenchPage):
    """Set the PIN, choose what one reads."""

    template = "pages/bench/me.html"
    forms: ClassVar[Forms] = {"pin": NewPin, "reading": Reading}

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """The one form knows whose password it asks for, the other what was chosen before."""
        if name == "pin":
            return NewPin(data, user=self.user, auto_id=f"{name}_%s")
        chosen = Preference.objects.filter(user=self.user).values().first()
        return Reading(data, auto_id=f"{name}_%s", initial={**chosen} if chosen else {})

    def context(self) -> dict[str, Any]:
        """Whether there is one."""
        has_pin = BenchPin.objects.filter(user=self.user).exists()
        return {"has_pin": has_pin, "minutes": lock.idle_minutes()}

    def act(self, name: str, form: Form) -> Told:
        """Set it, or keep what was chosen; that is told in the new language."""
        if name == "reading":
            Preference.objects.update_or_create(user=self.user, defaults=form.cleaned_data)
            return Told(say("This is how you read it from now on."))
        lock.set_pin(self.user, form.cleaned_data["pin"], at=self.at)
        return Told(_("Your PIN is set."))
