"""What every page of one visit shares: the visit, where it stands, and the one thing to do next."""

from dataclasses import dataclass
from typing import Any, ClassVar

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages.page import BenchPage, StaffView
from api.wording import told, word
from cylinders.models import Life, WorkOrder
from cylinders.queries.board import next_action
from cylinders.rules.stages import EXITS, STEPS, Stage, Step
from cylinders.rules.wording import say
from labels.models import Tag, TagKind, TagState

_PATH = (
    Stage.RECEIVED,
    Stage.TORN_DOWN,
    Stage.AT_LAB,
    Stage.BACK,
    Stage.INSPECTED,
    Stage.REASSEMBLED,
    Stage.FILLED,
    Stage.READY,
)
#: name of the next action -> (page, words on its button)
PAGES: dict[str, tuple[str, str]] = {
    "prove_empty": ("teardown", say("Drain it and take it down")),
    "teardown": ("teardown", say("Go on with the teardown")),
    "pack": ("pack", say("Pack it for the lab")),
    "send": ("pack", say("See the run that it is packed in")),
    "take_back": ("runs-in", say("Scan it back in")),
    "compare_stamp": ("stamp", say("Compare the new stamp")),
    "inspect": ("inspection", say("Inspect it")),
    "reassemble": ("reassembly", say("Fit its parts")),
    "fill": ("fill", say("Fill it")),
    "call_ready": ("handover", say("Call it ready")),
    "hand_over": ("handover", say("Hand it over")),
    "closed": ("cylinder", say("See the cylinder")),
}
#: stages at which the end of a cylinder's life changes nothing about what comes next
_CLOSABLE = EXITS | {Stage.AT_LAB, Stage.COLLECTED}
_WITHOUT_ORDER = frozenset({"runs-in"})


@dataclass(frozen=True, slots=True)
class Place:
    """One stage on the way, for the row of marks."""

    name: str
    mark: str


@dataclass(frozen=True, slots=True)
class Next:
    """The one obvious next action: words and address."""

    words: str
    url: str


def stage_name(stage: str) -> str:
    """A stage in a technician's words."""
    return word(Stage(stage).value).capitalize()


def next_of(order: WorkOrder) -> Next:
    """The page that does the next thing for ``order``.

    A lab's verdict ends a cylinder's life before anybody has closed its visit: that comes first.
    """
    page, words = PAGES[next_action(order).name]
    ended = order.cylinder.life != Life.IN_SERVICE and Stage(order.stage) not in _CLOSABLE
    if ended:
        page, words = (
            "stop",
            _("Close the visit: %(life)s") % {"life": told(order.cylinder.get_life_display())},
        )
    if page == "cylinder":
        return Next(words, reverse(page, args=[order.cylinder_id]))
    if page in _WITHOUT_ORDER:
        return Next(words, reverse(page))
    return Next(words, reverse(page, args=[order.pk]))


def places(order: WorkOrder) -> list[Place]:
    """The way from drop-off to collection with what is done and where the visit stands."""
    stage = Stage(order.stage)
    at = _PATH.index(stage) if stage in _PATH else len(_PATH)
    return [
        Place(stage_name(place), "here" if i == at else "done" if i < at else "")
        for i, place in enumerate(_PATH)
    ]


class GoToNext(StaffView):
    """The address of a visit leads to the page of its next step."""

    def get(self, _request: HttpRequest, pk: int) -> HttpResponse:
        """Redirect to where the work goes on."""
        order = WorkOrder.objects.filter(pk=pk).first()
        if order is None:
            raise Http404(f"no order {pk}")
        return HttpResponseRedirect(next_of(order).url)


class OrderPage(BenchPage):
    """A page of one visit; ``step`` is what it does, so that it knows whether its time is now."""

    step: ClassVar[Step]
    tab = "board"
    order: WorkOrder

    def prepare(self) -> None:
        """Load the visit; read again after a refusal, so the page shows the present state."""
        found = WorkOrder.objects.select_related("cylinder", "customer").filter(
            pk=self.kwargs["pk"],
        )
        order = found.first()
        if order is None:
            raise Http404(f"no order {self.kwargs['pk']}")
        self.order = order

    @property
    def stage(self) -> Stage:
        """Where the visit stands."""
        return Stage(self.order.stage)

    def context(self) -> dict[str, Any]:
        """What stands on top of each page of a visit."""
        tag = Tag.objects.filter(
            cylinder_id=self.order.cylinder_id,
            kind=TagKind.CYLINDER,
            state=TagState.LIVE,
        ).first()
        stands = self.stage in EXITS
        return {
            "order": self.order,
            "cylinder": self.order.cylinder,
            "stage": stage_name(self.order.stage),
            "places": [] if stands else places(self.order),
            "exit": stands,
            "tag": tag,
            "now": self.stage in STEPS[self.step].allowed_at and not self.order.closed_at,
            "next": next_of(self.order),
        }
