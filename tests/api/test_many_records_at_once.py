"""Many records at once: the same rows, events, hashes and answers as one by one, in six queries."""

import json
import random
from collections.abc import Iterator, Sequence
from typing import Any

import pytest
from django.core.management.color import no_style
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from api import posted_records
from api.posted_records import Received
from cylinders import history
from cylinders.facts import Actor
from cylinders.models import (
    ConsignmentLine,
    Cylinder,
    Lab,
    OwnerRow,
    RecordVoid,
    TestRecord,
    WorkOrder,
)
from cylinders.models.history import ServiceEvent
from cylinders.operations import amendment, lab_reports
from cylinders.operations.amendment import Correction
from cylinders.operations.lab_reports import Sent
from cylinders.rules.judgement import UnusableBody
from cylinders.rules.lab_reports import reading
from cylinders.rules.lab_reports.bodies import ReportKind
from cylinders.rules.refusal import Refused
from tests import makers
from tests.api.v1.lab import body, send_to, tag_of

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

CYLINDERS = 6
LAB = Actor("lab", "1")
#: savepoints of the test's own transaction, and a look at SQLite's version once a process
ASIDE = ("SAVEPOINT", "RELEASE", "SELECT JSON(")
Told = tuple[Any, ...]


@pytest.fixture
def lab() -> Lab:
    """A lab with ZZ0 to ZZ5 in its hands, two alike (ZZ4), reports, a void, and a past."""
    makers.technician_one()
    owner = makers.make_customer("Many Tanks")
    made = makers.make_lab()
    orders = [makers.receive(owner, serial=f"ZZ{min(n, 4)}") for n in range(CYLINDERS)]
    for order in orders:
        makers.take_down(order)
    send_to(made, *orders)
    OwnerRow.objects.create(
        subject=OwnerRow.Subject.PERMIT,
        name="99999",
        since=makers.TODAY,
        entered_by=makers.technician_one(),
        requalification_months=60,
        cites="invented",
        entered_at=makers.NOON,
    )
    with_a_past(made, orders)
    return made


def with_a_past(lab: Lab, orders: Sequence[WorkOrder]) -> None:
    """A check of the day, an inspection, a record that counts, a void and a correction ahead."""
    for kind, sent, order in (
        (ReportKind.CALIBRATION, makers.check_body(), None),
        (ReportKind.INSPECTION, with_serial(makers.inspection_body(), "ZZ1"), orders[1]),
    ):
        read = reading.read(kind, sent)
        given = Sent(kind=kind, body=read, text=json.dumps(sent), day=read.date)
        lab_reports.receive(
            lab_id=lab.pk,
            cylinder_id=order.cylinder_id if order else None,
            sent=given,
            at=makers.NOON,
            by=LAB,
        )
    take(lab, body("ZZ0", "OLD-0"))
    amendment.void_record(
        lab_id=lab.pk, lab_reference="V-1", reason="wrong one", at=makers.NOON, by=LAB
    )
    posted_records.correct(
        lab_id=lab.pk,
        correction=Correction("C-1", "typing error"),
        value=body("ZZ2", "C-2"),
        at=makers.NOON,
        by=LAB,
    )


def with_serial(sent: dict[str, Any], serial: str) -> dict[str, Any]:
    return sent | {"cylinder": sent["cylinder"] | {"serial": serial}}


def take(lab: Lab, value: object) -> Received:
    return posted_records.receive(lab_id=lab.pk, value=value, at=makers.NOON, by=LAB)


def told(outcome: Received | Refused | UnusableBody) -> Told:
    """What came of one record, to be compared."""
    if isinstance(outcome, Received):
        return ("taken", outcome.new, outcome.record.pk)
    if isinstance(outcome, Refused):
        return ("refused", outcome.code, outcome.says, outcome.cites)
    return ("unusable", [(p.pointer, p.code, p.says) for p in outcome.problems])


def one_by_one(lab: Lab, values: Sequence[object]) -> Iterator[Told]:
    for value in values:
        try:
            with transaction.atomic():
                yield told(take(lab, value))
        except (Refused, UnusableBody) as wrong:
            yield told(wrong)


def at_once(lab: Lab, values: Sequence[object]) -> list[Told]:
    texts = [posted_records.canonical(value) for value in values]
    made = posted_records.receive_many(lab_id=lab.pk, texts=texts, at=makers.NOON, by=LAB)
    return [told(outcome) for outcome in made]


def everything() -> dict[str, Any]:
    """Every row that a record may change, and every event as it was hashed."""
    tables = (TestRecord.objects, RecordVoid.objects, Cylinder.objects, WorkOrder.objects)
    rows = {table.model.__name__: list(table.order_by("pk").values()) for table in tables}
    return rows | {"events": list(history.export())}


def numbers_begin_again() -> None:
    """PostgreSQL does not take back the numbers of rows that were rolled back."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), [TestRecord, ServiceEvent]):
            cursor.execute(statement)


def values_of(seed: int) -> list[object]:
    """A file of up to fourteen records: good, bad, repeated, of one cylinder, with a past."""
    choose = random.Random(seed)
    tag = Cylinder.objects.get(serial="ZZ3").tags.get().code
    plain = [body(f"ZZ{n}", f"B-{n}") for n in range(CYLINDERS)]
    kinds: list[object] = [
        *plain,
        body("ZZ1", "B-8", hold_seconds=20),
        body("ZZ3", "B-9", permanent_expansion={"value": "9.9", "unit": "cc"}),
        body("ZZ2", "B-18", date="2026-11-02"),  # before it came
        body("ZZ2", "B-10", calibration=None, daily_check="CAL-1120-1"),
        body("ZZ1", "B-11", visual={"internal": "not_done", "external": "pass"}),
        body("ZZ2", "V-1"),
        body("ZZ2", "C-1"),
        body("ZZ0", "OLD-0"),
        body("ZZ0", "OLD-0", hold_seconds=99),
        body("NEVERSEEN", "B-12"),
        body("ZZ3", "B-13", rin="Z998"),
        body("ZZ3", "B-14", date="2027-01-01"),
        {"lab_reference": "B-15"},
        with_tag(body("WRONG", "B-16"), tag),
        with_tag(body("ZZ3", "B-17"), "NOTAG"),
    ]
    return [choose.choice(kinds) for _ in range(choose.randrange(1, 15))]


def with_tag(sent: dict[str, Any], code: str) -> dict[str, Any]:
    return sent | {"cylinder": sent["cylinder"] | {"tag": code}}


def same_both_ways(lab: Lab, seed: int) -> int:
    """Do the file both ways from the same start; returns how many records it stored."""
    values = values_of(seed)
    ends = []
    for way in (one_by_one, at_once):
        numbers_begin_again()
        save = transaction.savepoint()
        ends.append((list(way(lab, values)), everything()))
        transaction.savepoint_rollback(save)
    assert ends[0] == ends[1], seed
    return sum(1 for one in ends[0][0] if one[:2] == ("taken", True))


def test_at_once_is_the_same_as_one_by_one(lab: Lab) -> None:
    tag_of(WorkOrder.objects.get(cylinder__serial="ZZ3"))
    assert sum(same_both_ways(lab, seed) for seed in range(5)) > 12


@pytest.mark.parametrize("count", [1, 60])
def test_six_queries_store_any_number_of_records(count: int) -> None:
    makers.technician_one()
    made = makers.make_lab()
    copies(made, count)
    values = [body(f"ZZ{n}", f"B-{n}") for n in range(count)]
    with CaptureQueriesContext(connection) as asked:
        assert all(one[1] for one in at_once(made, values))
    assert TestRecord.objects.count() == count
    queries = [one["sql"] for one in asked if not one["sql"].startswith(ASIDE)]
    assert len(queries) <= 6, [sql[:80] for sql in queries]


def copies(lab: Lab, count: int) -> None:
    """So many cylinders in the lab's hands, made by copying one that went there step by step."""
    owner = makers.make_customer("Many Tanks")
    order = makers.receive(owner, serial="ZZ0")
    makers.take_down(order)
    send_to(lab, order)
    line = ConsignmentLine.objects.get()
    first = makers.cylinder_of(order)
    for number in range(1, count):
        cylinder = Cylinder.objects.get(pk=first.pk)
        cylinder.pk, cylinder.serial = None, f"ZZ{number}"
        cylinder.events_held, cylinder.head = 0, ""
        cylinder.save()
        visit = WorkOrder.objects.get(pk=order.pk)
        visit.pk, visit.cylinder = None, cylinder
        visit.save()
        line.pk, line.work_order = None, visit
        line.save()


@pytest.mark.long
def test_a_thousand_files_at_once_are_the_same_as_one_by_one(lab: Lab) -> None:
    tag_of(WorkOrder.objects.get(cylinder__serial="ZZ3"))
    assert sum(same_both_ways(lab, seed) for seed in range(1_000, 2_000)) > 3_000
