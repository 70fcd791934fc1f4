"""The owner's figures: what a special permit or a country lays down, added without code."""

from typing import Any, ClassVar

from django import forms
from django.forms import Form
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.page import BenchPage, Forms
from api.pages.told import Told
from cylinders.models import OwnerRow
from cylinders.operations import owner_rows
from cylinders.operations.owner_rows import Figures
from cylinders.rules.wording import say


def _months(label: str) -> forms.IntegerField:
    return forms.IntegerField(label=label, required=False, min_value=1)


class Add(fields.PageForm):
    """One row; every figure may be left out, one must be there."""

    subject = fields.pick(say("What is it about?"), list(OwnerRow.Subject.choices))
    name = fields.line(say("Its number or code"), hint=say("99999 for DOT-SP 99999; FR for France"))
    requalification_months = _months(say("Requalification, every so many months"))
    visual_months = _months(say("Internal visual, every so many months"))
    test_factor = fields.line(
        say("Test pressure, times the marked one"), hint=say("A fraction: 5/3"), required=False
    )
    limit_percent = fields.line(
        say("Permanent expansion, at most per cent of total"), required=False, inputmode="decimal"
    )
    life_months = _months(say("Service life in months"))
    expires = forms.DateField(
        label=say("Last day on which the permit is in force"),
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    since = forms.DateField(
        label=say("It holds since"), widget=forms.DateInput(attrs={"type": "date"})
    )
    cites = fields.line(say("Which text says so"), hint=say("Name, paragraph, edition"))
    reason = fields.line(say("Why is it entered, or changed?"))


class OwnerFigures(BenchPage):
    """Every row ever entered, newest first; a change is a newer row."""

    template = "pages/bench/figures.html"
    forms: ClassVar[Forms] = {"add": Add}

    def context(self) -> dict[str, Any]:
        """The rows."""
        return {
            "rows": OwnerRow.objects.select_related("entered_by").order_by("-entered_at", "-pk")
        }

    def act(self, _name: str, form: Form) -> Told:
        """Add a row."""
        data = form.cleaned_data
        names = (
            *("requalification_months", "visual_months", "test_factor"),
            *("limit_percent", "life_months", "expires"),
        )
        row = owner_rows.add_row(
            subject=data["subject"],
            name=data["name"].strip(),
            figures=Figures(**{name: data[name] for name in names}),
            since=data["since"],
            cites=data["cites"],
            reason=data["reason"],
            at=self.at,
            by=self.by,
        )
        return Told(
            _("%(row)s is entered. Every due date and fill follows it from now on.") % {"row": row}
        )
