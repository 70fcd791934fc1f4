"""The ends: rejected, condemned, withdrawn; and the written notice that the owner gets."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.order import OrderPage
from api.pages.bench.tags import printed
from api.pages.names import names_for
from api.pages.page import Forms, StaffView
from api.pages.told import Told, Tone
from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Life, Shop, WorkOrder
from cylinders.operations import condemnation, handover
from cylinders.rules.stages import STEPS, Step
from cylinders.rules.wording import say
from labels.content import condemned_of
from labels.operations.binding import Thing, live_tag


class Reject(fields.PageForm):
    """Out of use until it is repaired and requalified."""

    reason = fields.text(
        say("What was found"), hint=say("It stands in the owner's notice, word for word.")
    )


class Condemn(fields.PageForm):
    """Out of use for ever."""

    reason = fields.text(
        say("What was found"), hint=say("It stands in the owner's notice, word for word.")
    )
    marked = fields.line(
        say("How it is marked, and by whom"), hint=say("Or that it still has to be marked.")
    )
    sure = fields.tick(
        say("It will never be filled again; nothing here can undo this"),
        fault=say("Tick this only if you are sure."),
    )


class Withdraw(fields.PageForm):
    """The owner takes it back unfinished."""

    reason = fields.line(say("Why the owner takes it back"))


class Stop(OrderPage):
    """Three ways to stop, each with its reason."""

    template = "pages/bench/stop.html"
    step = Step.CONDEMN
    forms: ClassVar[Forms] = {"reject": Reject, "condemn": Condemn, "withdraw": Withdraw}

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """What the lab or the inspection found stands in a fresh form."""
        found = ending_of(self.order.cylinder_id)
        initial = {"reason": reason_of(found.facts)} if found and name != "withdraw" else {}
        return self.forms[name](data, auto_id=f"{name}_%s", initial=initial)

    def context(self) -> dict[str, Any]:
        """Which ends are open now."""
        may = {step.value: self.stage in STEPS[step].allowed_at for step in _ENDS}
        return super().context() | {"may": may, "stopping": True}

    def act(self, name: str, form: Form) -> Told:
        """Stop."""
        pk, data = self.order.pk, form.cleaned_data
        notice = reverse("notice", args=[pk])
        if name == "reject":
            condemnation.reject(work_order_id=pk, reason=data["reason"], at=self.at, by=self.by)
            return Told(
                _("Print the written notice for the owner."), notice, Tone.FAIL, _("REJECTED")
            )
        if name == "condemn":
            condemnation.condemn(
                work_order_id=pk,
                reason=data["reason"],
                marked=data["marked"],
                at=self.at,
                by=self.by,
            )
            return Told(
                _("Print the written notice for the owner."), notice, Tone.FAIL, _("CONDEMNED")
            )
        handover.withdraw(work_order_id=pk, reason=data["reason"], at=self.at, by=self.by)
        return Told(_("Withdrawn. Hand it over with its bags."), reverse("handover", args=[pk]))


class Notice(OrderPage):
    """The written notice to the owner, as it prints: 49 CFR 180.205(h) and (i)."""

    template = "pages/bench/notice.html"
    step = Step.HAND_OVER

    def context(self) -> dict[str, Any]:
        """What was found, by whom, when; from the history alone."""
        last = ending_of(self.order.cylinder_id)
        return super().context() | {
            "shop": Shop.objects.first(),
            "entry": last,
            "reason": reason_of(last.facts) if last else "",
            "who": names_for([last]).who(last.by) if last else "",
        }


class CondemnedPrint(StaffView):
    """The tag that is tied to a condemned cylinder."""

    def get(self, request: HttpRequest, pk: int, form: str) -> HttpResponse:
        """Render it."""
        order = WorkOrder.objects.select_related("cylinder").filter(pk=pk).first()
        found = ending_of(order.cylinder_id) if order else None
        tag = order and live_tag(Thing.cylinder(order.cylinder))
        if not order or not found or not tag or order.cylinder.life != Life.CONDEMNED:
            raise Http404("not condemned, or without a tag")
        content = condemned_of(
            order.cylinder,
            tag,
            reason=reason_of(found.facts),
            date_and_by=f"{found.at:%Y-%m-%d} {names_for([found]).who(found.by)}",
        )
        return printed(request, content, form, title=f"condemned, order {pk}")


_ENDS = (Step.REJECT, Step.CONDEMN, Step.WITHDRAW)
_BAD = ("rejected", "condemned")
_ENDING_KINDS = (Kind.REJECTED, Kind.CONDEMNED, Kind.INSPECTED, Kind.RECORD_ATTACHED)


def ending_of(cylinder_id: int) -> history.Entry | None:
    """The last event that ended or suspended the life of a cylinder."""
    ends = [entry for entry in history.timeline(cylinder_id) if entry.kind in _ENDING_KINDS]
    bad = [entry for entry in ends if _verdict(entry) in _BAD]
    return bad[-1] if bad else None


def _verdict(entry: history.Entry) -> str:
    plain = {Kind.REJECTED: "rejected", Kind.CONDEMNED: "condemned"}
    found = plain.get(entry.kind) or entry.facts.get("result") or entry.facts.get("verdict")
    return str(found)


def reason_of(facts: Mapping[str, Any]) -> str:
    """What was found, as the owner's notice gives it."""
    figure = facts.get("percent_permanent")
    by_test = (
        _("Permanent expansion %(figure)s %% at the test of %(facts)s")
        % {"figure": figure, "facts": facts["tested_on"]}
        if figure
        else ""
    )
    return str(facts.get("reason") or facts.get("notes") or by_test)
