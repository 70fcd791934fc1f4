"""The run to the lab and back: packed by scan, carried by a named person, scanned home."""

import datetime as dt

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, Packed, Returned, Sent
from cylinders.models import Consignment, ConsignmentLine, Lab, WorkOrder
from cylinders.operations import visit
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Step
from cylinders.rules.wording import say


@transaction.atomic
def pack(*, work_order_id: int, lab_id: int, at: dt.datetime, by: Actor) -> ConsignmentLine:
    """Scan a bare cylinder into the consignment that is being packed for a lab.

    Opens one when none is being packed. Raises :class:`Refused` when it is packed already.
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.PACK)
    visit.must_be_in_service(cylinder)
    lab = Lab.objects.filter(pk=lab_id).first()
    if lab is None:
        raise Refused("unknown_lab", say("Choose the lab first."))
    packed = ConsignmentLine.objects.filter(work_order=order, returned_at__isnull=True).first()
    if packed:
        raise Refused(
            "already_packed",
            say("It is packed already, in {consignment}.", consignment=packed.consignment),
        )
    consignment, _new = Consignment.objects.get_or_create(
        lab=lab,
        sent_at=None,
        defaults={"opened_at": at},
    )
    line = ConsignmentLine.objects.create(consignment=consignment, work_order=order, packed_at=at)
    facts = Packed(work_order=order.pk, consignment=consignment.pk)
    history.append(cylinder, facts, at=at, by=by)
    return line


@transaction.atomic
def send(
    *,
    consignment_id: int,
    carrier: str,
    on: dt.date,
    at: dt.datetime,
    by: Actor,
) -> Consignment:
    """Hand a packed consignment to its carrier; every cylinder in it is now at the lab.

    Refused when the lab's identification number has run out on ``on``: 49 CFR 180.205(b).
    """
    consignment = Consignment.objects.select_for_update().filter(pk=consignment_id).first()
    if consignment is None or consignment.sent_at:
        raise Refused("nothing_to_send", say("That consignment has left already, or never was."))
    if not carrier.strip():
        raise Refused("no_carrier", say("Write who carries it."))
    if consignment.lab.rin_valid_until < on:
        raise Refused(
            "rin_expired",
            say(
                "The number {rin} of {lab} ran out on {rin_valid_until}. Ask the lab for "
                "its renewal before sending.",
                rin=consignment.lab.rin,
                lab=consignment.lab.name,
                rin_valid_until=consignment.lab.rin_valid_until,
            ),
            "49 CFR 180.205(b)",
        )
    lines = list(consignment.lines.order_by("work_order__cylinder_id"))
    if not lines:
        raise Refused("empty_consignment", say("Scan at least one cylinder into it first."))
    for line in lines:
        cylinder, order = visit.begin(work_order_id=line.work_order_id, step=Step.SEND)
        visit.move(order, Step.SEND, at=at)
        facts = Sent(
            work_order=order.pk,
            consignment=consignment.pk,
            lab=consignment.lab_id,
            carrier=carrier,
        )
        history.append(cylinder, facts, at=at, by=by)
    consignment.sent_at, consignment.carrier = at, carrier
    consignment.save(update_fields=["sent_at", "carrier"])
    return consignment


@transaction.atomic
def take_back(*, work_order_id: int, at: dt.datetime, by: Actor) -> WorkOrder:
    """Scan a cylinder home; the consignment closes with its last cylinder."""
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.TAKE_BACK)
    line = ConsignmentLine.objects.get(work_order=order, returned_at__isnull=True)
    line.returned_at = at
    line.save(update_fields=["returned_at"])
    visit.move(order, Step.TAKE_BACK, at=at)
    facts = Returned(work_order=order.pk, consignment=line.consignment_id)
    history.append(cylinder, facts, at=at, by=by)
    if not line.consignment.lines.filter(returned_at__isnull=True).exists():
        Consignment.objects.filter(pk=line.consignment_id).update(closed_at=at)
    return order
