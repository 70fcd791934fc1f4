"""Operations on files, reports, recalls and many records, each ready to be done once."""

import json
from collections.abc import Callable
from typing import Any

from django.db import connection

from cylinders.facts import Actor
from cylinders.models import Lab, RecallLetter, TestRecord, WorkOrder
from cylinders.operations import (
    consignment,
    filing,
    inspection,
    lab_reports,
    papers,
    recalling,
    retest_many,
    second_look,
)
from cylinders.operations.filing import Content
from cylinders.rules import judgement
from cylinders.rules.lab_reports import reading
from cylinders.rules.lab_reports.bodies import ReportKind
from tests import makers
from tests.faults import worlds
from tests.faults.operations import Act, with_
from tests.faults.worlds import AT, ON, WHO

LAB = Actor("lab", "1")


def kept(media_type: str = "image/jpeg") -> int:
    """A kept file that belongs to nothing yet."""
    size = (4, 3) if media_type == "image/jpeg" else (0, 0)
    return filing.keep(Content(b"A", media_type, *size), at=AT).pk


def with_photo() -> tuple[int, list[int]]:
    """A cylinder in the house, and its photo."""
    order = makers.receive()
    number = order.cylinder_id
    filing.add_photos(cylinder_id=number, files=[kept()], shows="stamp", **WHO)
    shown = makers.cylinder_of(order).attachments.values_list("pk", flat=True)
    return number, list(shown)


def waiting_for_another() -> WorkOrder:
    """An indication was seen, and nobody has looked again."""
    order = makers.receive(services=("visual",))
    makers.take_down(order)
    look = inspection.Look(
        "CGA C-6.1",
        "pass",
        "pass",
        "pass",
        sticker_removed=True,
        eddy_current="indication",
        eddy_equipment="EC 2",
        eddy_ring="R 7",
    )
    inspection.record(work_order_id=order.pk, look=look, on=ON, **WHO)
    return order


def report(order: WorkOrder) -> lab_reports.Receipt:
    """The lab has looked into the cylinder, and found it good."""
    sent = makers.inspection_body()
    sent["cylinder"]["serial"] = makers.cylinder_of(order).serial
    body = reading.read(ReportKind.INSPECTION, sent)
    given = lab_reports.Sent(
        kind=ReportKind.INSPECTION, body=body, text=json.dumps(sent), day=body.date
    )
    return lab_reports.receive(
        lab_id=Lab.objects.get().pk, cylinder_id=order.cylinder_id, sent=given, at=AT, by=LAB
    )


def looked_into() -> str:
    """The reference of a report that is there, with a record that leans on it."""
    order = worlds.at_the_lab()
    receipt = report(order)
    worlds.receive(order, visual={"internal": "not_done", "external": "not_done"})
    return receipt.report.lab_reference


def several_at_the_lab() -> list[WorkOrder]:
    """Three cylinders of one owner, sent to the one lab."""
    # Django asks SQLite once a process what it can do, and takes a failure for "no".
    assert connection.features.has_json_object_function
    makers.technician_one()
    owner, lab = makers.make_customer("Many Tanks"), makers.make_lab()
    orders = [makers.receive(owner, serial=f"ZZ{number}") for number in range(3)]
    for order in orders:
        makers.take_down(order)
        line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, **WHO)
    consignment.send(consignment_id=line.consignment_id, carrier="van 2", on=ON, **WHO)
    return orders


def many(orders: list[WorkOrder]) -> object:
    """The records of several cylinders at once."""
    posted = []
    for number, order in enumerate(orders):
        sent = makers.record_body(lab_reference=f"B-{number}")
        sent["cylinder"]["serial"] = makers.cylinder_of(order).serial
        body = judgement.parse(judgement.loads(json.dumps(sent)))
        posted.append(retest_many.Posted(body, json.dumps(sent), order.cylinder_id))
    return retest_many.receive_records(
        lab_id=Lab.objects.get().pk, posted=posted, on=ON, at=AT, by=LAB
    )


def recalled(record: TestRecord, *, on_paper: bool = False) -> RecallLetter:
    """The owner of a record is to be told."""
    return recalling.confirm(
        recall="gauge G-3, 2026-11-01 to 2026-11-30",
        customer_id=record.cylinder.owner_id,
        told={record.cylinder_id: [record.pk]},
        reason="the gauge was off",
        on_paper=on_paper,
        **WHO,
    )


def _second_look(order: WorkOrder) -> object:
    seen = second_look.SecondLook("clear", notes="cleaned it, scanned twice")
    return second_look.record(
        work_order_id=order.pk, again=seen, on=ON, at=AT, by=Actor("staff", "2")
    )


def _void(reference: str) -> Any:
    return lab_reports.void(
        lab_id=Lab.objects.get().pk,
        kind=ReportKind.INSPECTION,
        lab_reference=reference,
        reason="another cylinder's",
        at=AT,
        by=LAB,
    )


CASES: dict[str, Callable[[], Act]] = {
    "filing.add_photos": with_(
        lambda: (makers.receive(), kept()),
        lambda w: filing.add_photos(
            cylinder_id=w[0].cylinder_id, files=[w[1]], shows="stamp", **WHO
        ),
    ),
    "filing.show_to_owner": with_(
        with_photo, lambda w: filing.show_to_owner(cylinder_id=w[0], chosen=w[1], **WHO)
    ),
    "papers.add": with_(
        lambda: (worlds.reported(), kept("application/pdf")),
        lambda w: papers.add(record_id=w[0].pk, file=w[1], shows="calibration", at=AT, by=LAB),
    ),
    "second_look.record": with_(waiting_for_another, _second_look),
    "lab_reports.receive": with_(worlds.at_the_lab, report),
    "lab_reports.receive, with a record that leans on it": with_(
        lambda: worlds.reported(visual={"internal": "not_done", "external": "pass"}).work_order,
        report,
    ),
    "lab_reports.void": with_(looked_into, _void),
    "retest_many.receive_records": with_(several_at_the_lab, many),
    "recalling.confirm": with_(worlds.reported, lambda r: recalled(r, on_paper=True)),
    "recalling.settle": with_(
        lambda: recalled(worlds.reported()),
        lambda letter: recalling.settle(letter_id=letter.pk, sent=True, **WHO),
    ),
}
