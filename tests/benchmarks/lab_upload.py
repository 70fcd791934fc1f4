"""A thousand records of a lab at once on PostgreSQL: against COPY, and against DRF row by row.

The floor copies the same rows (a thousand records with their judgements, a thousand events, what
they change on a thousand cylinders) that were made before, without asking anything; the changes are
copied aside and set by one UPDATE, since COPY only adds. "database part" is all that the upload
does beside reading and judging, which were done before: naming each cylinder, the locks, what each
record leans on, the hash chains, the rows, the heads. "tried" begins with the JSON text of each
line, after the dry run in which a lab tries its file: what was read and judged there is taken over
where all that it leaned on is the same. "whole" reads and judges too; its floor is to read and to
judge each one with all that is needed at hand, and to copy the rows: the rules take what they take.
The usual choice is a DRF serializer with its generated checks that locks the cylinder and saves a
record and its event row by row in one transaction, and judges nothing; it does a hundred rows, and
its ratio is told for a thousand.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any
from unittest.mock import patch

from django.db import connection, transaction
from rest_framework import serializers

from api import at_the_lab, posted_records
from cylinders import history
from cylinders.facts import Actor
from cylinders.models import ConsignmentLine, Cylinder, Lab, TestRecord, WorkOrder
from cylinders.models.history import ServiceEvent
from cylinders.operations import recording, retest_many
from cylinders.operations.retest_many import Posted
from cylinders.rules import judgement
from cylinders.rules.judgement import Judgement, TestBody, loads, remembered
from cylinders.rules.judgement.answer import Answered
from cylinders.rules.judgement.remembered import Sitting
from tests import makers
from tests.benchmarks import ground
from tests.benchmarks.runner import COMMITS, Case, Result, Target, race

ROWS, FEW = 1_000, 100
FLOOR = "COPY of the same rows, ready made"
JUDGED = "reading and judging each, and COPY of the same rows"
USUAL = "a DRF serializer that saves row by row"
BY = Actor("lab", "1")
_TABLES = (TestRecord, ServiceEvent)


def texts(count: int) -> list[str]:
    """So many lines of a lab's file, each of a cylinder of its own."""
    made = []
    for number in range(count):
        sent = makers.record_body(lab_reference=f"B-{number}")
        sent["cylinder"]["serial"] = f"ZZ{number}"
        made.append(posted_records.canonical(sent))
    return made


def fill(count: int) -> Lab:
    """So many cylinders in one lab's hands, copied from one that was brought there step by step."""
    makers.technician_one()
    lab, owner = makers.make_lab(), makers.make_customer("Many Tanks")
    order = makers.receive(owner, serial="ZZ0")
    makers.take_down(order)
    line = ConsignmentLine(
        consignment=lab.consignments.create(opened_at=makers.NOON, sent_at=makers.NOON),
        packed_at=makers.NOON,
    )
    first = makers.cylinder_of(order)
    for number in range(count):
        cylinder = Cylinder.objects.get(pk=first.pk)
        cylinder.serial, cylinder.events_held, cylinder.head = f"ZZ{number}", 0, ""
        visit = WorkOrder.objects.get(pk=order.pk)
        if number:
            cylinder.pk, visit.pk = None, None
        cylinder.save()
        visit.cylinder = cylinder
        visit.save()
        line.pk, line.work_order = None, visit
        line.save()
    return lab


def empty() -> None:
    """No records, no events, heads at their beginning; the triggers are for everybody else."""
    events, records = (model._meta.db_table for model in (ServiceEvent, TestRecord))
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"ALTER TABLE {events} DISABLE TRIGGER USER")
        cursor.execute(f"TRUNCATE {records}, {events} RESTART IDENTITY CASCADE")
        cursor.execute(f"ALTER TABLE {events} ENABLE TRIGGER USER")
        cursor.execute("UPDATE cylinders_cylinder SET events_held = 0, head = '', requalified = ''")
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE cylinders_cylinder")


class Heads:
    """What one upload changes on its cylinders."""

    names = ("events_held", "head", *recording.CHANGED)

    def __init__(self) -> None:
        self.rows = list(Cylinder.objects.values_list("pk", *self.names))

    def copy(self) -> None:
        """Copy them aside, and set them."""
        names = ", ".join(("id", *self.names))
        table = Cylinder._meta.db_table
        with connection.cursor() as cursor:
            cursor.execute(
                f"CREATE TEMPORARY TABLE heads ON COMMIT DROP AS SELECT {names}"  # noqa: S608 - our own table
                f" FROM {table} WITH NO DATA"
            )
            with cursor.copy(f"COPY heads ({names}) FROM STDIN") as copy:
                for row in self.rows:
                    copy.write_row(row)
            changes = ", ".join(f"{name} = heads.{name}" for name in self.names)
            cursor.execute(
                f"UPDATE {table} SET {changes}"  # noqa: S608 - the same
                f" FROM heads WHERE heads.id = {table}.id"
            )


class Rows:
    """The rows of one upload as COPY takes them."""

    def __init__(self, model: type[TestRecord] | type[ServiceEvent]) -> None:
        self.table = model._meta.db_table
        names = [str(field.column) for field in model._meta.concrete_fields]
        self.columns = ", ".join(names)
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT {self.columns} FROM {self.table}")  # noqa: S608 - our own table
            self.rows = cursor.fetchall()

    def copy(self) -> None:
        """Copy them in."""
        statement = f"COPY {self.table} ({self.columns}) FROM STDIN"
        with connection.cursor() as cursor, cursor.copy(statement) as copy:
            for row in self.rows:
                copy.write_row(row)


@transaction.atomic
def copied(tables: Sequence[Rows | Heads]) -> None:
    """The floor."""
    for table in tables:
        table.copy()


@transaction.atomic
def whole(lab: Lab, lines: Sequence[str]) -> None:
    """The upload as a batch does it."""
    came = posted_records.receive_many(lab_id=lab.pk, texts=lines, at=makers.NOON, by=BY)
    if not all(isinstance(one, posted_records.Received) and one.new for one in came):
        raise RuntimeError("a record was not stored")


@transaction.atomic
def tried(lab: Lab, lines: Sequence[str]) -> None:
    """Its dry run."""
    whole(lab, lines)
    transaction.set_rollback(True)


class DatabasePart:
    """The same with every line read and judged before."""

    def __init__(self, lab: Lab, lines: Sequence[str]) -> None:
        self.lab = lab
        self.bodies = [posted_records.read(loads(line)) for line in lines]
        self.texts = list(lines)
        self.answered: dict[str, Answered] = {}
        self.beside: dict[str, dict[str, Any]] = {}
        with self.listening():
            whole(lab, lines)

    @contextmanager
    def listening(self) -> Iterator[None]:
        """Keep each judgement that is made."""

        def kept(body: TestBody, **beside: Any) -> Judgement:
            judged = judgement.judge(body, **beside)
            self.answered[body.lab_reference] = Answered(judged, judgement.as_json(judged))
            self.beside[body.lab_reference] = beside
            return judged

        posted_records.forget()
        with patch.object(remembered, "judge", kept):
            yield
        posted_records.forget()

    def only_judged(self, *, then: Callable[[], None]) -> None:
        """Each line read and judged, with all at hand that its judgement leans on."""
        for text in self.texts:
            body = posted_records.read(loads(text))
            judgement.as_json(judgement.judge(body, **self.beside[body.lab_reference]))
        then()

    @transaction.atomic
    def __call__(self) -> None:
        """Name, lock, read, store."""
        marks = [posted_records._marks(body) for body in self.bodies]
        named = at_the_lab.named_many(lab_id=self.lab.pk, marks=marks)
        posted = [
            Posted(body, text, cylinder)
            for body, text, cylinder in zip(self.bodies, self.texts, named, strict=True)
            if isinstance(cylinder, int)
        ]
        known = self.answered
        with patch.object(Sitting, "judge", lambda _, body, *__, **___: known[body.lab_reference]):
            retest_many.receive_records(
                lab_id=self.lab.pk, posted=posted, on=makers.TODAY, at=makers.NOON, by=BY
            )


class OneRecord(serializers.ModelSerializer[TestRecord]):
    """What one writes first: generated checks, save, append."""

    class Meta:
        model = TestRecord
        fields = (
            *("lab", "lab_reference", "cylinder", "work_order", "received_at", "tested_on"),
            *("body", "answer", "verdict", "state"),
        )

    def create(self, validated_data: dict[str, Any]) -> TestRecord:
        """Lock the cylinder, save the record, append its event."""
        validated_data["cylinder"] = history.lock(validated_data["cylinder"].pk)
        record = super().create(validated_data)
        facts = recording.held_facts(record, [])
        history.append(record.cylinder, facts, at=makers.NOON, by=BY)
        return record


def row_by_row(records: Sequence[dict[str, Any]]) -> Callable[[], None]:
    """The usual choice."""

    @transaction.atomic
    def save() -> None:
        many = OneRecord(data=records, many=True)
        many.is_valid(raise_exception=True)
        many.save()

    return save


def run(rounds: int | None = None) -> Iterator[Result]:
    """Both parts against COPY, both against DRF."""
    with ground.database():
        lab, lines = fill(ROWS), texts(ROWS)
        empty()
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")  # as the database does by itself, a minute later
        part = DatabasePart(lab, lines)
        tables: list[Rows | Heads] = [*(Rows(model) for model in _TABLES), Heads()]
        few = OneRecord(TestRecord.objects.order_by("pk")[:FEW], many=True).data

        def untried() -> None:
            empty()
            posted_records.forget()

        def tried_before() -> None:
            empty()
            tried(lab, lines)

        cases = {
            FLOOR: Case(lambda: copied(tables), before=empty),
            "database part": Case(part, before=empty),
            "tried": Case(lambda: whole(lab, lines), before=tried_before),
            "whole": Case(lambda: whole(lab, lines), before=untried),
            JUDGED: Case(lambda: part.only_judged(then=lambda: copied(tables)), before=empty),
            USUAL: Case(row_by_row([dict(row) for row in few]), before=empty),
        }
        what = f"{ROWS} records at once"
        share = ROWS / FEW / 20
        yield from race(
            cases,
            [
                Target("upload_rows", "database part", FLOOR, 2.5, f"{what}, database part"),
                Target("upload_usual", "database part", USUAL, share, f"{what}, database part"),
                Target(
                    "upload_tried_usual", "tried", USUAL, share, f"{what}, sent after a dry run"
                ),
                Target("upload_tried", "tried", FLOOR, 2.5, f"{what}, sent after a dry run"),
                Target("upload_whole", "whole", JUDGED, 1.5, f"{what}, read and judged too"),
            ],
            rounds=rounds or COMMITS,
            slices=1,
        )
