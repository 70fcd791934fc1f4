"""Receiving a cylinder: its stamp read, questions answered, duplicates shown, then registered.

The stamp and the answers stand in the address, so that going back and reloading are harmless;
only the last button stores anything.
"""

import dataclasses
from dataclasses import dataclass
from typing import Any, ClassVar

from django.forms import Form
from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench import answers
from api.pages.bench.arrival import suggested
from api.pages.bench.cylinder import duty_rows
from api.pages.bench.newcomer import NewCylinder
from api.pages.bench.owners import listed
from api.pages.bench.reading import reading_context, reading_of
from api.pages.page import BenchPage, Forms
from api.pages.told import Told
from api.wording import word
from cylinders.facts import Markings
from cylinders.facts.stamped import markings_of
from cylinders.models import Cylinder, Gas
from cylinders.operations import intake
from cylinders.queries.due import duties_of, fill_verdict
from cylinders.queries.find import likely_duplicates
from cylinders.rules.markings import Question, Reading, as_json
from cylinders.rules.threads import THREADS
from cylinders.story import MARKING_FIELDS

_EASY = ("serial", "specification", "service_pressure")


@dataclass(frozen=True, slots=True)
class Asked:
    """One question with the answer that was tapped, if any; ``name`` is its field."""

    name: str
    question: Question
    choice: str


class Intake(BenchPage):
    """One page from the stamp to the open order."""

    template = "pages/bench/intake.html"
    tab = "intake"
    forms: ClassVar[Forms] = {"receive": NewCylinder}
    reading: Reading
    asked: list[Asked]
    markings: Markings

    def prepare(self) -> None:
        """Read the stamp that stands in the address, or was sent, and what was answered."""
        sent = self.request.POST if self.request.method == "POST" else self.request.GET
        self.reading = reading_of(sent.get("stamp", ""), on=self.on)
        self.asked = [
            Asked(f"answer-{number}", question, sent.get(f"answer-{number}", ""))
            for number, question in enumerate(self.reading.questions)
        ]
        self.markings = markings_of(self.reading)
        for one in self.asked:
            self.markings = answers.apply(self.markings, one.question, one.choice, on=self.on)

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """A fresh form is filled with what was understood."""
        initial: dict[str, Any] = dataclasses.asdict(self.markings)
        initial |= {
            "stamp": self.reading.text,
            "services": suggested(duties_of(self._unsaved(), on=self.on)),
            "use_gas": Gas.AIR.value,
            "oxygen_clean": "",
            "tag": self.request.GET.get("tag", "")[:20],
        }
        return self.forms[name](data, auto_id="id_%s", initial=initial)

    def context(self) -> dict[str, Any]:
        """What was understood, what stands against a fill, and who may be its twin."""
        cylinder = self._unsaved()
        marks = self.markings
        typed = self.request.POST or dataclasses.asdict(marks)
        return reading_context(self.reading) | {
            "asked": self.asked,
            "markings": [
                (word(name).capitalize(), getattr(marks, name) or _("not read"))
                for name in MARKING_FIELDS
                if name in _EASY or (name != "stamp_text" and getattr(marks, name))
            ],
            "duties": duty_rows(duties_of(cylinder, on=self.on)),
            "verdict": fill_verdict(cylinder, on=self.on),
            "alike": likely_duplicates(
                serial=str(typed.get("serial", "")),
                manufacturer_mark=str(typed.get("manufacturer_mark", "")),
            ),
            "owners": listed(),
            "threads": [thread.name for thread in THREADS],
        }

    def act(self, name: str, form: Form) -> Told:
        """Register the cylinder and open its order."""
        if not isinstance(form, NewCylinder):
            raise Http404(name)
        order = intake.receive_new(
            newcomer=form.newcomer(self.reading),
            owner_id=form.owner_id(at=self.at, by=self.by),
            arrival=form.arrival(),
            at=self.at,
            by=self.by,
        )
        page = reverse("cylinder", args=[order.cylinder_id])
        tag = form.cleaned_data["tag"]
        return Told(
            _("Received as order %(order)s. Now give it its tag.") % {"order": order.pk},
            f"{page}?bind={tag}" if tag else page,
        )

    def _unsaved(self) -> Cylinder:
        values = {name: getattr(self.markings, name) for name in MARKING_FIELDS}
        life = "condemned" if self.reading.condemned else "in_service"
        return Cylinder(**values, decoded=as_json(self.reading), life=life)
