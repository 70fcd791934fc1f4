"""The heart: each bag is scanned to its cylinder, and a wrong part never fits.

Scan, scan, scan: the page tells each answer large, with its own shape, word and colour, keeps the
list of what is on and counts what is missing. The visit closes when every part is fitted or
somebody answered for it by name.
"""

from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.forms import Form
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.order import OrderPage
from api.pages.bench.resolve import scanned
from api.pages.bench.runs import Code
from api.pages.bench.teardown import SEALED
from api.pages.page import Forms
from api.pages.told import Told, Tone
from api.wording import part_name, told
from cylinders.models import Part, Service, Whereabouts, WorkOrder
from cylinders.operations import fitting, reassembly, undoing
from cylinders.operations.fitting import Offer
from cylinders.rules.matching import Match
from cylinders.rules.stages import Step
from cylinders.rules.wording import say
from labels.models import Tag, TagKind, TagState
from labels.scanning import Named, ScanState, Unnamed

WORDS = {
    Match.MATCH: "MATCH",
    Match.WRONG_CYLINDER: say("WRONG CYLINDER"),
    Match.UNKNOWN: "UNKNOWN",
    Match.ALREADY_FITTED: say("ALREADY FITTED"),
    Match.RETIRED: "RETIRED",
    Match.OTHER_THREAD: say("OTHER THREAD"),
    Match.NOT_OXYGEN_CLEAN: say("NOT OXYGEN CLEAN"),
}
BY_HAND = say("by hand")


class FitByHand(fields.PageForm):
    """A part without a tag of its own: from the kit's bag, or too plain for one."""

    part = forms.IntegerField(widget=forms.HiddenInput)


class Account(fields.PageForm):
    """What became of a part that will not be fitted."""

    part = forms.IntegerField(widget=forms.HiddenInput)
    how = fields.pick(say("What became of it?"), list(reassembly.ENDINGS.items()))
    note = fields.line(say("Who looked, and what took its place"))


class Unfit(fields.PageForm):
    """A fitted part comes off again."""

    part = forms.IntegerField(widget=forms.HiddenInput)


class Finish(fields.PageForm):
    """Asks to close the reassembly."""


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part of the visit: its tag, and whether it may be fitted without one."""

    part: Part
    tag: Tag | None
    serviceable: bool

    @property
    def by_hand(self) -> bool:
        """A valve is never fitted without its scan."""
        return self.tag is None and self.part.kind not in SEALED


class Reassembly(OrderPage):
    """The scan field of this page offers parts to this cylinder."""

    template = "pages/bench/reassembly.html"
    step = Step.FIT_PART
    forms: ClassVar[Forms] = {
        "offer": Code,
        "hand": FitByHand,
        "unfit": Unfit,
        "account": Account,
        "finish": Finish,
    }

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """The form for a part that is to be accounted for knows which one was tapped."""
        initial = {"part": self.request.GET.get("account", "")}
        return self.forms[name](data, auto_id=f"{name}_%s", initial=initial)

    def context(self) -> dict[str, Any]:
        """What is missing, what is on, what somebody answered for."""
        rows = part_rows(self.order)
        missing = [row for row in rows if row.part.whereabouts == Whereabouts.BAGGED]
        asked = self.request.POST.get("part") or self.request.GET.get("account", "")
        return super().context() | {
            "rows": rows,
            "missing": missing,
            "settled": [row for row in rows if row not in missing],
            "shared": self.order.cylinder.shared_parts.select_related("cylinder"),
            "account": next((row for row in missing if str(row.part.pk) == asked), None),
            "wants_clean": Service.OXYGEN_CLEANING in self.order.services
            and not self.order.cylinder.oxygen_clean,
        }

    def act(self, name: str, form: Form) -> Told:
        """Offer a part, answer for one, or close."""
        here, data = reverse("reassembly", args=[self.order.pk]), form.cleaned_data
        if name == "offer":
            return self._scan(data["code"], here)
        if name == "hand":
            return self._by_hand(data["part"], here)
        if name == "unfit":
            part = undoing.unfit_part(
                work_order_id=self.order.pk, part_id=data["part"], at=self.at, by=self.by
            )
            says = _("Undone: the %(part)s is back in its bag.") % {"part": part}
            return Told(says, here, Tone.CAUTION)
        if name == "account":
            part = reassembly.account_part(
                work_order_id=self.order.pk,
                part_id=data["part"],
                how=data["how"],
                note=data["note"],
                at=self.at,
                by=self.by,
            )
            return Told(
                _("Accounted for: %(part)s, %(settled_how)s.")
                % {"part": part_name(part), "settled_how": told(part.settled_how)},
                here,
                Tone.CAUTION,
            )
        reassembly.finish(work_order_id=self.order.pk, at=self.at, by=self.by)
        return Told(_("Reassembled: every part is on or accounted for."), here)

    def _by_hand(self, part_id: int, here: str) -> Told:
        row = next((row for row in part_rows(self.order) if row.part.pk == part_id), None)
        if row is None or not row.by_hand:
            says = _("That part has a tag of its own. Scan it.")
            return Told(says, here, Tone.FAIL, _("SCAN IT"))
        return self._offer(part_id, BY_HAND, "live", here)

    def _scan(self, text: str, here: str) -> Told:
        named = scanned(self.request, text)
        if isinstance(named, Unnamed):
            return self._offer(None, named.shown, "unknown", here, says=named.says)
        if named.state is ScanState.BLANK:
            return self._offer(None, named.tag.code, "unknown", here)
        if named.state is not ScanState.LIVE:
            part_id = named.part.pk if named.part else None
            return self._offer(part_id, named.tag.code, "retired", here)
        if named.part:
            return self._offer(named.part.pk, named.tag.code, "live", here)
        if named.kind == TagKind.KIT and named.work_order:
            return self._kit(named, named.work_order, here)
        return self._cylinder(named, here)

    def _kit(self, named: Named, kit_of: WorkOrder, here: str) -> Told:
        if kit_of.pk == self.order.pk:
            says = _("The kit of this cylinder. Tap each part below as it goes on.")
            return Told(says, here, Tone.OK, _("RIGHT KIT"))
        part = kit_of.parts.exclude(kind__in=SEALED).first()
        return self._offer(part.pk if part else None, named.tag.code, "live", here)

    def _cylinder(self, named: Named, here: str) -> Told:
        if named.cylinder and named.cylinder.pk == self.order.cylinder_id:
            says = _("This is the cylinder that you are putting together. Now scan a bag.")
            return Told(says, here, Tone.OK, _("RIGHT CYLINDER"))
        says = _(
            "That is the tag of %(cylinder)s; this page is %(own)s. Nothing was "
            "fitted. Open the other one from the board."
        ) % {"cylinder": named.cylinder, "own": self.order.cylinder}
        return Told(says, here, Tone.FAIL, _("OTHER CYLINDER"))

    def _offer(
        self, part_id: int | None, text: str, tag_state: str, here: str, *, says: str = ""
    ) -> Told:
        offer = fitting.offer_part(
            work_order_id=self.order.pk,
            part_id=part_id,
            scanned=text,
            tag_state=tag_state,
            at=self.at,
            by=self.by,
        )
        tone = Tone.OK if offer.fits else Tone.FAIL
        if offer.code == Match.UNKNOWN:
            tone = Tone.UNKNOWN
        words = (
            _("%(says)s Nothing was fitted.") % {"says": told(says)} if says else sentence(offer)
        )
        return Told(words, here, tone, WORDS[Match(offer.code)], "" if offer.fits else offer.cites)


def sentence(offer: Offer) -> str:
    """The answer in words, with the right cylinder, or who was first and when."""
    more = ""
    if offer.belongs_to:
        more = _(" It belongs to %(belongs_to)s.") % {"belongs_to": offer.belongs_to}
    if offer.code == Match.ALREADY_FITTED and offer.settled_at:
        when = timezone.localtime(offer.settled_at)
        more += _(" Fitted by %(settled_by)s on %(day)s at %(time)s.") % {
            "settled_by": offer.settled_by or _("somebody"),
            "day": f"{when:%Y-%m-%d}",
            "time": f"{when:%H:%M}",
        }
    return told(offer.says) + more


def part_rows(order: WorkOrder) -> list[PartRow]:
    """The parts of a visit with their tags, in the order in which they came off."""
    live = Tag.objects.filter(part__work_order=order, state=TagState.LIVE)
    tags = {tag.part_id: tag for tag in live}
    wanted = Service.VALVE_SERVICE in order.services
    return [
        PartRow(part, tags.get(part.pk), wanted and part.kind in SEALED and not part.serviced)
        for part in order.parts.select_related("settled_by").order_by("pk")
    ]
