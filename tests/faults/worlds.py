"""Worlds in which one operation may be done, and the operations that take many words."""

import json
from decimal import Decimal
from typing import Any

from django.conf import settings

from api import declining, links
from cylinders.facts import Actor
from cylinders.models import (
    Lab,
    MessageKind,
    Notice,
    NoticeState,
    Part,
    TestRecord,
    WorkOrder,
)
from cylinders.operations import (
    amendment,
    consignment,
    filling,
    fitting,
    handover,
    inspection,
    privacy,
    reassembly,
    retest,
    teardown,
)
from cylinders.rules import judgement
from cylinders.rules.quantity import Quantity
from labels.operations import binding, minting, runs
from labels.operations.binding import Thing
from tests import makers

AT, ON = makers.NOON, makers.TODAY
BY = Actor("staff", "1")
WHO: dict[str, Any] = {"at": AT, "by": BY}
HOST = settings.TAG_HOST
GOOD_LOOK = inspection.Look("CGA C-6.1", "pass", "pass", "pass", sticker_removed=True)
OVER: dict[str, Any] = {
    "permanent_expansion": {"value": "7.1", "unit": "cc"},
    "elastic_expansion": None,
}
OTHER_MONTH = {"month": 10, "year": 2026, "symbol": None}


def at_the_lab() -> WorkOrder:
    """Sent to the one lab."""
    order = packed()
    run = order.lines.get().consignment_id
    consignment.send(consignment_id=run, carrier="van 2", on=ON, **WHO)
    return order


def packed() -> WorkOrder:
    """In the run that is being packed."""
    order = makers.receive()
    makers.take_down(order)
    consignment.pack(work_order_id=order.pk, lab_id=makers.make_lab().pk, **WHO)
    return order


def reported(**changes: Any) -> TestRecord:
    """At the lab, with its record."""
    return receive(at_the_lab(), **changes).record


def home() -> WorkOrder:
    """Back from the lab with a good record."""
    order = reported().work_order
    assert order is not None
    consignment.take_back(work_order_id=order.pk, **WHO)
    return order


def inspected() -> WorkOrder:
    """Came for a visual, and passed it; its parts are in their bags."""
    makers.technician_one()
    order = makers.receive(services=("visual", "fill"))
    makers.take_down(order)
    inspection.record(work_order_id=order.pk, look=GOOD_LOOK, on=ON, **WHO)
    return order


def fitted() -> Part:
    """Inspected, and one of its parts on it."""
    order = inspected()
    part = order.parts.earliest("pk")
    offer(order, part)
    return part


def answered_for() -> WorkOrder:
    """Inspected, and every part accounted for."""
    order = inspected()
    for part in order.parts.all():
        account(part)
    return order


def ready() -> WorkOrder:
    """Put together and called ready."""
    order = answered_for()
    reassembly.finish(work_order_id=order.pk, **WHO)
    handover.call_ready(work_order_id=order.pk, **WHO)
    return order


def tagged() -> str:
    """The code of a cylinder's live tag."""
    return binding.issue(thing=thing(makers.receive()), host=HOST, **WHO).code


def waiting(state: NoticeState) -> Notice:
    """A reminder in some state."""
    cylinder = makers.cylinder_of(makers.receive())
    return Notice.objects.create(
        cylinder=cylinder,
        customer=cylinder.owner,
        duty="requalification",
        due=ON,
        days_before=0,
        send_on=ON,
        state=state,
    )


def receive(order: WorkOrder, **changes: Any) -> retest.Receipt:
    text = json.dumps(makers.record_body(**changes))
    return retest.receive_record(
        lab_id=Lab.objects.get().pk,
        cylinder_id=order.cylinder_id,
        body=judgement.parse(judgement.loads(text)),
        body_text=text,
        on=ON,
        at=AT,
        by=Actor("lab", "1"),
    )


def correct(record: TestRecord) -> retest.Receipt:
    text = json.dumps(makers.record_body(lab_reference="NG-2026-0418", hold_seconds=35))
    return amendment.correct_record(
        lab_id=record.lab_id,
        cylinder_id=record.cylinder_id,
        correction=amendment.Correction(corrects=record.lab_reference, reason="misread"),
        body=judgement.parse(judgement.loads(text)),
        body_text=text,
        on=ON,
        at=AT,
        by=Actor("lab", "1"),
    )


def account(part: Part) -> Part:
    return reassembly.account_part(
        work_order_id=part.work_order_id, part_id=part.pk, how="replaced", note="new", **WHO
    )


def service(part: Part) -> Part:
    return reassembly.service_part(
        work_order_id=part.work_order_id,
        part_id=part.pk,
        o_rings="viton",
        lubricant="MCG-111",
        oxygen_compatible=True,
        hand_wheel="fine",
        on=ON,
        **WHO,
    )


def offer(order: WorkOrder, part: Part | None) -> fitting.Offer:
    return fitting.offer_part(
        work_order_id=order.pk,
        part_id=part.pk if part else None,
        scanned="whatever",
        tag_state="live",
        **WHO,
    )


def fill(order: WorkOrder, pressure: int) -> filling.FillOutcome:
    return filling.fill(
        work_order_id=order.pk,
        oxygen_fraction="0.21",
        pressure=Quantity(Decimal(pressure), "psi"),
        on=ON,
        **WHO,
    )


def thing(order: WorkOrder) -> Thing:
    return Thing.cylinder(makers.cylinder_of(order))


def run(count: int = 3) -> int:
    run = runs.start(key="form", count=count, host=HOST, printer="roll", **WHO)
    runs.send(run_id=run.pk, to_printer=lambda _: None)
    return run.pk


def link() -> links.Issued:
    return links.issue(cylinder_id=makers.receive().cylinder_id, **WHO)


def proven() -> WorkOrder:
    order = makers.receive()
    teardown.prove_empty(work_order_id=order.pk, how="valve open, no hiss", **WHO)
    return order


def gone() -> WorkOrder:
    order = makers.receive()
    handover.withdraw(work_order_id=order.pk, reason="moving away", **WHO)
    handover.hand_over(work_order_id=order.pk, to_owner=True, **WHO)
    return order


def all_down() -> WorkOrder:
    order = proven()
    removal = teardown.Removal(kind="valve", thread="3/4-14 NPSM")
    teardown.remove_part(work_order_id=order.pk, removal=removal, **WHO)
    return order


def torn_down() -> WorkOrder:
    order = makers.receive()
    makers.take_down(order)
    makers.make_lab()
    return order


def blank() -> tuple[str, WorkOrder]:
    [tag] = minting.mint(count=1, host=HOST, at=AT)
    return tag.code, makers.receive()


def heir() -> tuple[int, int]:
    cylinder = makers.receive().cylinder_id
    links.issue(cylinder_id=cylinder, **WHO)
    return cylinder, makers.make_customer("Petra Moor").pk


def looked_at() -> int:
    customer = makers.make_customer()
    privacy.note_look(customer_id=customer.pk, where="order", **WHO)
    return customer.pk


def declined() -> int:
    customer = makers.make_customer()
    declining.decline(customer_id=customer.pk, kind=MessageKind.REMINDERS, at=AT)
    return customer.pk


def visual_only() -> WorkOrder:
    order = makers.receive(services=("visual",))
    makers.take_down(order)
    return order


def together() -> WorkOrder:
    order = answered_for()
    reassembly.finish(work_order_id=order.pk, **WHO)
    return order
