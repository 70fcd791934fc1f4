"""One visit of the scenario, carried to the stage where the demonstration finds it."""

import dataclasses
import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.conf import settings

from cylinders.facts import Actor, Markings
from cylinders.models import Lab, Part, PartKind, WorkOrder
from cylinders.operations import (
    consignment,
    filling,
    fitting,
    handover,
    inspection,
    oxygen,
    reassembly,
    teardown,
)
from cylinders.rules.quantity import psi
from labels.operations import binding
from labels.operations.binding import Thing

#: How long one step takes in the replay.
_STEP = dt.timedelta(minutes=20)
SOUND = inspection.Look(
    standard="CGA C-6.1",
    internal="pass",
    external="pass",
    threads="pass",
    sticker_removed=True,
)


def with_changes(markings: Markings, changes: Mapping[str, str]) -> Markings:
    """``markings`` with what the technician knows beyond the stamp."""
    return dataclasses.replace(markings, **changes)


@dataclass(slots=True)
class Pace:
    """The clock of a visit in the past: each step takes its time."""

    at: dt.datetime

    def __call__(self) -> dt.datetime:
        """The time of the next step."""
        self.at += _STEP
        return self.at


@dataclass(slots=True)
class Visit:
    """One order on its way; each method is one step at the time that ``tick`` tells."""

    order: WorkOrder
    lab: Lab
    by: Actor
    tick: Callable[[], dt.datetime]

    def take_down(self, visit: Mapping[str, Any], twins: Mapping[str, int]) -> None:
        """Empty it, take every part of the scenario off, put the plug in."""
        pk = self.order.pk
        teardown.prove_empty(
            work_order_id=pk, how="valve open, no hiss, gauge at zero", at=self.tick(), by=self.by
        )
        for part in visit["parts"]:
            facts = {**part, "shared_with": twins.get(part.get("shared_with", ""))}
            removal = teardown.Removal(**facts)
            teardown.remove_part(work_order_id=pk, removal=removal, at=self.tick(), by=self.by)
        teardown.finish(
            work_order_id=pk, outside="sound", travel_plug=True, at=self.tick(), by=self.by
        )

    def send(self) -> None:
        """Pack it and send it off."""
        line = consignment.pack(
            work_order_id=self.order.pk, lab_id=self.lab.pk, at=self.tick(), by=self.by
        )
        at = self.tick()
        consignment.send(
            consignment_id=line.consignment_id,
            carrier="the shop's van",
            on=at.date(),
            at=at,
            by=self.by,
        )

    def inspect(self) -> None:
        """Inspect it; everything is sound."""
        at = self.tick()
        inspection.record(work_order_id=self.order.pk, look=SOUND, on=at.date(), at=at, by=self.by)

    def service_and_fit(self, code: Callable[[Part], str]) -> None:
        """Service the valve, clean what is to be clean, fit every part."""
        if self.order.cylinder.use_gas != "air":
            at = self.tick()
            oxygen.clean(
                work_order_id=self.order.pk,
                method="detergent, hot rinse, UV light",
                on=at.date(),
                at=at,
                by=self.by,
            )
        for part in self.order.parts.order_by("pk"):
            if part.kind in (PartKind.VALVE, PartKind.MANIFOLD):
                self.service(part)
            fitting.offer_part(
                work_order_id=self.order.pk,
                part_id=part.pk,
                scanned=code(part),
                tag_state="live",
                at=self.tick(),
                by=self.by,
            )
        reassembly.finish(work_order_id=self.order.pk, at=self.tick(), by=self.by)

    def service(self, part: Part) -> None:
        """New O-rings and oxygen-compatible grease for a valve."""
        at = self.tick()
        reassembly.service_part(
            work_order_id=self.order.pk,
            part_id=part.pk,
            o_rings="neck and bonnet, FKM",
            lubricant="oxygen-compatible grease",
            oxygen_compatible=True,
            hand_wheel="kept",
            on=at.date(),
            at=at,
            by=self.by,
        )

    def fill(self, oxygen_fraction: str, pressure: str) -> filling.FillOutcome:
        """Ask for a fill in psi."""
        at = self.tick()
        return filling.fill(
            work_order_id=self.order.pk,
            oxygen_fraction=oxygen_fraction,
            pressure=psi(pressure),
            on=at.date(),
            at=at,
            by=self.by,
        )

    def call_ready(self) -> None:
        """Tell the customer to come."""
        handover.call_ready(work_order_id=self.order.pk, at=self.tick(), by=self.by)


def carry(
    order: WorkOrder,
    visit: Mapping[str, Any],
    *,
    lab: Lab,
    twins: Mapping[str, int],
    tick: Callable[[], dt.datetime],
    by: Actor,
) -> None:
    """Carry a visit from ``received`` to the stage that the scenario asks for."""
    on_its_way = Visit(order, lab, by, tick)
    until = visit["until"]
    if until in ("received", "condemned"):
        return
    on_its_way.take_down(visit, twins)
    if until == "at_lab":
        on_its_way.send()
    if until in ("torn_down", "at_lab"):
        return
    on_its_way.inspect()
    if until == "inspected":
        return
    on_its_way.service_and_fit(code=str)
    if "fill" in visit:
        on_its_way.fill(**visit["fill"])
    on_its_way.call_ready()


def tag(thing: Thing, *, at: dt.datetime, by: Actor) -> None:
    """Bind a tag to a thing of the scenario, so that it can be scanned."""
    binding.issue(thing=thing, host=settings.TAG_HOST, at=at, by=by)


def tag_parts(order: WorkOrder, *, tick: Callable[[], dt.datetime], by: Actor) -> None:
    """Tag the bags, the kit and the bare cylinder of a visit that took it apart."""
    parts = list(order.parts.order_by("pk"))
    for part in parts:
        if part.kind in (PartKind.VALVE, PartKind.MANIFOLD):
            tag(Thing.bag(part), at=tick(), by=by)
    if parts:
        tag(Thing.kit(order), at=tick(), by=by)
        tag(Thing.teardown(order), at=tick(), by=by)


def give_back(order: WorkOrder, *, tick: Callable[[], dt.datetime], by: Actor) -> None:
    """End the visit at which a cylinder was only registered."""
    handover.withdraw(work_order_id=order.pk, reason="registered only", at=tick(), by=by)
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=tick(), by=by)
