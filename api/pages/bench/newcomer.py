"""The form of a new cylinder: its markings as understood, its owner, its arrival."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.arrival import ArrivalFields
from api.pages.bench.owners import OwnerFields
from api.pages.bench.reading import one_sign_a_line
from cylinders.facts import Markings
from cylinders.models import Gas
from cylinders.operations import intake
from cylinders.queries.find import likely_duplicates
from cylinders.rules.markings import Reading, as_json
from cylinders.rules.markings.usable import LONGEST
from cylinders.rules.quantity import QuantityError, read_number
from cylinders.rules.wording import say
from cylinders.story import MARKING_FIELDS

_MONTHS = ("first_test", "requalified", "stamped_due", "life_end")


def _marking(name: str) -> forms.Field:
    label = name.replace("_", " ").capitalize()
    return fields.month(label) if name in _MONTHS else fields.line(label, required=False)


class NewCylinder(OwnerFields, ArrivalFields):
    """The markings as understood, each of which a person may set right, and the arrival."""

    stamp = forms.CharField(widget=forms.HiddenInput, strip=False)
    neck_thread = fields.line(say("Neck thread"), required=False, list="threads")
    pressure_unit = fields.pick(say("Unit of the pressure"), [("psi", "psi"), ("bar", "bar")])
    use_gas = fields.pick(say("Used with"), list(Gas.choices))
    oxygen_clean = fields.pick(
        say("Clean for oxygen"),
        [("", say("Not known")), ("yes", say("Yes")), ("no", say("No"))],
        required=False,
    )
    last_visual = fields.month(
        say("Month of the last internal visual"), hint=say("From its sticker")
    )
    last_oxygen_clean = fields.month(say("Month of the last oxygen cleaning"))
    not_these = fields.tick(say("It is none of the cylinders shown above"))
    tag = forms.CharField(required=False, max_length=20, widget=forms.HiddenInput)

    field_order = ("owner", "new_owner", "phone", "email", "consent", "services")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in MARKING_FIELDS:
            if name not in self.fields and name != "stamp_text":
                self.fields[name] = _marking(name)

    @property
    def marking_fields(self) -> list[forms.BoundField]:
        """The fields of the markings, in the order of the stamp."""
        return [self[name] for name in MARKING_FIELDS if name in self.fields]

    @property
    def marking_faults(self) -> bool:
        """Whether one of them is at fault, so that the page opens them."""
        return any(field.errors for field in self.marking_fields)

    def clean_stamp(self) -> str:
        """The stamp as it was typed; one that is too long was not read."""
        stamp = one_sign_a_line(self.cleaned_data["stamp"])
        if len(stamp) > LONGEST:
            raise ValidationError(
                _("Type only what is stamped on it, at most %(most)s signs.") % {"most": LONGEST}
            )
        return stamp

    def clean_service_pressure(self) -> str:
        """A plain number, or nothing."""
        figure: str = self.cleaned_data["service_pressure"]
        try:
            if figure:
                read_number(figure)
        except QuantityError as problem:
            raise ValidationError(_("Write digits only, for example 3000.")) from problem
        return figure

    def clean(self) -> dict[str, Any]:
        """A likely duplicate is looked at before another cylinder is registered."""
        data = super().clean() or {}
        alike = likely_duplicates(
            serial=data.get("serial", ""),
            manufacturer_mark=data.get("manufacturer_mark", ""),
        )
        if alike and not data.get("not_these"):
            self.add_error(
                "not_these", _("Compare it with the ones shown; then tick, or choose it.")
            )
        return data

    def markings(self) -> Markings:
        """The markings as a person left them."""
        data = self.cleaned_data
        values = {name: data[name] for name in MARKING_FIELDS if name != "stamp_text"}
        return Markings(stamp_text=data["stamp"], **values)

    def newcomer(self, reading: Reading) -> intake.Newcomer:
        """As the operation takes it."""
        data = self.cleaned_data
        return intake.Newcomer(
            markings=self.markings(),
            decoded=as_json(reading),
            last_visual=data["last_visual"],
            last_oxygen_clean=data["last_oxygen_clean"],
            oxygen_clean={"yes": True, "no": False}.get(data["oxygen_clean"]),
            use_gas=data["use_gas"],
            condemned_by_marks=reading.condemned,
        )
