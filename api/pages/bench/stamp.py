"""Back from the lab: the new stamp is typed and held against the record."""

from typing import Any, ClassVar

from django.forms import Form
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.order import OrderPage, next_of
from api.pages.page import Forms
from api.pages.told import Told, Tone
from cylinders.models import RecordState
from cylinders.operations import stamp
from cylinders.rules.stages import Step
from cylinders.rules.wording import say


class NewStamp(fields.PageForm):
    """The newest requalification mark."""

    typed = fields.line(
        say("The new mark, as stamped"),
        hint=say("Month, lab's number, year, symbol: 11 Z9/99 26. The square as its two rows."),
        autocapitalize="characters",
    )


class Stamp(OrderPage):
    """Record and metal must say the same."""

    template = "pages/bench/stamp.html"
    step = Step.COMPARE_STAMP
    forms: ClassVar[Forms] = {"stamp": NewStamp}

    def context(self) -> dict[str, Any]:
        """The records of this visit."""
        records = self.order.records.select_related("lab").order_by("-pk")
        return super().context() | {
            "records": records,
            "passed": any(
                record.state == RecordState.ATTACHED and record.verdict == "passed"
                for record in records
            ),
            "held": [record for record in records if record.state == RecordState.HELD],
        }

    def act(self, _name: str, form: Form) -> Told:
        """Compare; a disagreement is told with every difference."""
        compared = stamp.compare_stamp(
            work_order_id=self.order.pk,
            typed=form.cleaned_data["typed"],
            on=self.on,
            at=self.at,
            by=self.by,
        )
        if compared.agrees:
            self.order.refresh_from_db()
            return Told(
                _("The stamp agrees with %(lab_reference)s.")
                % {"lab_reference": compared.record.lab_reference},
                next_of(self.order).url,
                Tone.OK,
                _("STAMP AGREES"),
            )
        return Told(
            " ".join(compared.differences), "", Tone.FAIL, _("STAMP DIFFERS"), "49 CFR 180.213(d)"
        )
