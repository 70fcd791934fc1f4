"""A visit that went through the whole house, with a link to it."""

import json

from api import links
from api.links import Issued
from cylinders.facts import Actor
from cylinders.models import Customer, Shop, WorkOrder
from cylinders.operations import consignment, fitting, inspection, reassembly, retest, stamp
from cylinders.rules import judgement
from labels.models import Tag
from labels.operations import binding
from labels.operations.binding import Thing
from tests import makers

BY = Actor("staff", "1")
AT, ON = makers.NOON, makers.TODAY
HOST = "CYL.EXAMPLE"
#: What must never be shown to a stranger: everything that is known of this person.
CANARY = Customer(
    name="Quillon Canaryfeather",
    email="quillon.canary@example.org",
    phone="555-0177",
    email_consent=True,
)


def open_shop() -> Shop:
    return Shop.objects.create(
        name="Slack Water Divers",
        phone="555-0100",
        email="shop@example.org",
        time_zone="America/New_York",
    )


def canary() -> Customer:
    return Customer.objects.create(
        name=CANARY.name, email=CANARY.email, phone=CANARY.phone, email_consent=True
    )


def tag_of(order: WorkOrder) -> Tag:
    return binding.issue(thing=Thing.cylinder(order.cylinder), host=HOST, at=AT, by=BY)


def link_to(order: WorkOrder) -> Issued:
    return links.issue(cylinder_id=order.cylinder_id, at=AT, by=BY)


def put_together(owner: Customer | None = None, **changes: object) -> WorkOrder:
    """Received, taken down, tested, inspected, and its own parts fitted again."""
    makers.technician_one()
    order = makers.receive(owner or canary())
    parts = makers.take_down(order)
    lab = makers.make_lab()
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=AT, by=BY)
    consignment.send(consignment_id=line.consignment_id, carrier="van 2", on=ON, at=AT, by=BY)
    text = json.dumps(makers.record_body(**changes))
    retest.receive_record(
        lab_id=lab.pk,
        cylinder_id=order.cylinder_id,
        body=judgement.parse(judgement.loads(text)),
        body_text=text,
        on=ON,
        at=AT,
        by=Actor("lab", str(lab.pk)),
    )
    consignment.take_back(work_order_id=order.pk, at=AT, by=BY)
    stamp.compare_stamp(work_order_id=order.pk, typed="11 Z9/99 26", on=ON, at=AT, by=BY)
    look = inspection.Look(
        standard="CGA C-6.1", internal="pass", external="pass", threads="pass", sticker_removed=True
    )
    inspection.record(work_order_id=order.pk, look=look, on=ON, at=AT, by=BY)
    for part in parts:
        fitting.offer_part(
            work_order_id=order.pk, part_id=part.pk, scanned="x", tag_state="live", at=AT, by=BY
        )
    reassembly.finish(work_order_id=order.pk, at=AT, by=BY)
    order.refresh_from_db()
    return order
