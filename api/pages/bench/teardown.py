"""Taking a cylinder down, as a checklist: empty, parts off and bagged, closed."""

from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.forms import Form
from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.blank import bind_or_open
from api.pages.bench.order import OrderPage
from api.pages.bench.resolve import other_cylinder
from api.pages.bench.tags import bench_host, part_of_visit
from api.pages.page import Forms
from api.pages.told import Told
from api.wording import part_name
from cylinders.models import Part, PartKind, Whereabouts
from cylinders.operations import teardown
from cylinders.rules.stages import Step
from cylinders.rules.threads import THREADS
from cylinders.rules.wording import say
from labels.models import Tag, TagKind, TagState
from labels.operations import binding
from labels.operations.binding import Thing

SOUND = "sound"
OUTSIDE = [
    (SOUND, say("Sound")),
    ("dent", say("Dent")),
    ("bulge", say("Bulge")),
    ("arc or heat marks", say("Arc or heat marks")),
    ("corrosion", say("Corrosion")),
    ("other damage", say("Other damage")),
]
OUTLETS = [
    ("yoke", say("Yoke")),
    ("DIN 200", "DIN 200"),
    ("DIN 300", "DIN 300"),
    ("other", say("Other")),
]
SEALED = (PartKind.VALVE, PartKind.MANIFOLD)
SHARED = (PartKind.MANIFOLD, PartKind.BAND)
#: what most scuba valves have (common practice); any other is written
COMMON_THREADS = ("3/4-14 NPSM", "M25x2", "M18x1.5", "7/8-14 UNF", "3/4-14 NGS")
OTHER_THREAD = "other"


class ProveEmpty(fields.PageForm):
    """A tick with a name: who signs in answers for it."""

    drained = fields.tick(
        say("The valve stands open and nothing comes out"),
        fault=say("Open the valve, let it drain slowly, listen and feel; then tick."),
    )
    how = fields.line(say("How you know"), hint=say("Goes into the history with your name."))


class RemovePart(fields.PageForm):
    """One part as it came off; the fields of other kinds are left out by the page."""

    kind = forms.ChoiceField(choices=PartKind.choices, widget=forms.HiddenInput)
    name = fields.line(
        say("What is it called?"), hint=say("So that it can be told apart."), required=False
    )
    thread = fields.pick(
        say("Thread, as read off the valve"),
        [*((name, name) for name in COMMON_THREADS), (OTHER_THREAD, say("Another"))],
        required=False,
    )
    other_thread = fields.line(say("Another thread, as stamped"), required=False, list="threads")
    outlet = fields.pick(say("Outlet"), OUTLETS, required=False)
    serial = fields.line(say("Its own number"), hint=say("Where it has one."), required=False)
    shared = fields.line(
        say("Tag of the other cylinder"),
        hint=say("Scan or type it, where the part joins two cylinders."),
        required=False,
    )
    oxygen_clean = fields.tick(say("It is clean for oxygen, and stays so in its bag"))
    condition = fields.line(say("Condition"), hint=say("Worn, cracked, salt ..."), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kind = self.data.get("kind") or self.initial.get("kind", "")
        for name in _NOT_FOR.get(kind, _PLAIN):
            del self.fields[name]

    def removal(self, shared_with: int | None) -> teardown.Removal:
        """The part as the operation takes it."""
        data = self.cleaned_data
        thread = data.get("thread", "")
        return teardown.Removal(
            kind=data["kind"],
            name=data.get("name", ""),
            thread=data.get("other_thread", "") if thread == OTHER_THREAD else thread,
            outlet=data.get("outlet", ""),
            serial=data["serial"],
            oxygen_clean=data["oxygen_clean"],
            condition=data["condition"],
            shared_with=shared_with,
        )


_PLAIN = ("thread", "other_thread", "outlet", "shared")
_NOT_FOR = {
    PartKind.VALVE.value: ("shared", "name"),
    PartKind.MANIFOLD.value: ("name",),
    PartKind.BAND.value: ("thread", "other_thread", "outlet"),
}


class Finish(fields.PageForm):
    """The look from outside, and the plug."""

    outside = fields.pick(say("The outside, all round"), OUTSIDE)
    travel_plug = fields.tick(say("The travel plug is in"))


class BindTag(fields.PageForm):
    """A blank tag, scanned for the part that waits for one."""

    part = forms.IntegerField(widget=forms.HiddenInput)
    code = forms.CharField(max_length=200, error_messages={"required": say("Nothing arrived.")})


class PrintTag(fields.PageForm):
    """Asks for the tag of one part, of the kit, or else of the bare cylinder."""

    part = forms.IntegerField(required=False, widget=forms.HiddenInput)
    kit = forms.BooleanField(required=False, widget=forms.HiddenInput)


@dataclass(frozen=True, slots=True)
class Off:
    """A part that is off, with its tag where it has one."""

    part: Part
    tag: Tag | None


class Teardown(OrderPage):
    """Empty first; only then does the page offer the valve."""

    template = "pages/bench/teardown.html"
    step = Step.FINISH_TEARDOWN
    forms: ClassVar[Forms] = {
        "empty": ProveEmpty,
        "part": RemovePart,
        "finish": Finish,
        "tag": PrintTag,
        "bind": BindTag,
    }

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """Fresh forms know what was tapped: which part, and how emptiness is usually seen."""
        initial = {"kind": self._kind, "how": _("valve open, no hiss")}
        return self.forms[name](data, auto_id=f"{name}_%s", initial=initial)

    @property
    def _kind(self) -> str:
        asked = self.request.GET.get("part", "")
        return asked if asked in PartKind.values else ""

    def context(self) -> dict[str, Any]:
        """Parts with their tags, and the kinds that can be tapped."""
        tags = Tag.objects.filter(work_order=self.order, state=TagState.LIVE)
        by_part = {tag.part_id: tag for tag in tags if tag.part_id}
        parts = self.order.parts.select_related("shared_with").order_by("pk")
        untagged = [part for part in parts if part.pk not in by_part]
        kinds = [
            (value, label)
            for value, label in PartKind.choices
            if self.order.proven_empty or value not in SEALED
        ]
        kind = self.request.POST.get("kind") or self._kind
        kind = kind if kind in dict(kinds) else ""
        return super().context() | {
            "parts": [Off(part, by_part.get(part.pk)) for part in parts],
            "untagged": untagged[-1] if untagged else None,
            "kinds": kinds,
            "kind": kind,
            "kind_name": PartKind(kind).label if kind else "",
            "threads": [thread.name for thread in THREADS],
            "bare": next((tag for tag in tags if tag.kind == TagKind.TEARDOWN), None),
            "kit": next((tag for tag in tags if tag.kind == TagKind.KIT), None),
            "loose": any(part.kind not in SEALED for part in parts),
            "bagged": sum(part.whereabouts == Whereabouts.BAGGED for part in parts),
            "has_valve": any(part.kind in SEALED for part in parts),
        }

    def act(self, name: str, form: Form) -> Told:
        """Prove empty, take a part off, ask for a tag, or close."""
        here = reverse("teardown", args=[self.order.pk])
        data = form.cleaned_data
        if name == "empty":
            teardown.prove_empty(
                work_order_id=self.order.pk, how=data["how"], at=self.at, by=self.by
            )
            return Told(_("Proven empty. Now the valve may move."), here)
        if isinstance(form, RemovePart):
            part = teardown.remove_part(
                work_order_id=self.order.pk,
                removal=form.removal(other_cylinder(self.request, data.get("shared", ""))),
                at=self.at,
                by=self.by,
            )
            return Told(
                _("Off and recorded: %(part)s. Print its tag and bag it.")
                % {"part": part_name(part)},
                f"{here}#parts",
            )
        if name == "bind":
            part = part_of_visit(self.order, data["part"])
            return bind_or_open(
                self.request,
                data["code"],
                Thing.bag(part),
                name=part_name(part),
                at=self.at,
                by=self.by,
            )
        if name == "tag":
            thing = self._thing(data["part"], kit=data["kit"])
            tag = binding.issue(thing=thing, host=bench_host(), at=self.at, by=self.by)
            return Told(_("The tag is ready to print."), reverse("tag", args=[tag.code]))
        teardown.finish(
            work_order_id=self.order.pk,
            outside=data["outside"],
            travel_plug=data["travel_plug"],
            at=self.at,
            by=self.by,
        )
        return Told(_("Taken down. The cylinder is bare and plugged."), here)

    def _thing(self, part_id: int | None, *, kit: bool) -> Thing:
        if kit:
            return Thing.kit(self.order)
        if part_id:
            return Thing.bag(part_of_visit(self.order, part_id))
        return Thing.teardown(self.order)
