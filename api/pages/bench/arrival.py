"""What is written down at the counter, for a new cylinder and for one that comes again."""

from typing import Any

from django import forms

from api.pages import fields
from api.pages.uploads import WithPhotos
from cylinders.models import Service
from cylinders.operations.intake import Arrival
from cylinders.rules.duties import Duty, DutyKind, State
from cylinders.rules.wording import say

_SERVICE_OF = {
    DutyKind.REQUALIFICATION: Service.REQUALIFICATION,
    DutyKind.INTERNAL_VISUAL: Service.VISUAL,
    DutyKind.THREAD_EXAMINATION: Service.VISUAL,
    DutyKind.OXYGEN_CLEANING: Service.OXYGEN_CLEANING,
    DutyKind.VALVE_SERVICE: Service.VALVE_SERVICE,
}


def suggested(duties: tuple[Duty, ...]) -> list[str]:
    """Services that what is due asks for; a fill is always offered."""
    wanted = {_SERVICE_OF[duty.kind] for duty in duties if duty.state is not State.IN_DATE}
    return [service for service in Service.values if service in wanted or service == Service.FILL]


class ArrivalFields(WithPhotos):
    """Services wanted, pressure left in it, how it looks, and photos of that."""

    services = forms.MultipleChoiceField(
        label=say("Services wanted"),
        choices=Service.choices,
        widget=fields.Ticks(attrs=fields.wide(Service.choices)),
        required=False,
        help_text=say("Ticked: what is due."),
    )
    pressure_on_arrival = fields.line(
        say("Pressure on arrival"),
        hint=say("As the gauge shows it, with its unit."),
        required=False,
    )
    condition = fields.text(
        say("How it looks"), hint=say("Paint, dents, rust, what is on it."), required=False
    )

    def arrival(self) -> Arrival:
        """As the operation takes it."""
        data: dict[str, Any] = self.cleaned_data
        return Arrival(
            services=data["services"],
            pressure_on_arrival=data["pressure_on_arrival"],
            condition=data["condition"],
            photos=self.photo_numbers,
        )
