"""The chain of one cylinder: what is appended stays, and whatever is changed behind it is found."""

import datetime as dt
import json
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction

from cylinders import history
from cylinders.facts import Actor, Kind, Ready
from cylinders.models import Consignment, ConsignmentLine, Cylinder, Notice
from cylinders.operations import condemnation, consignment, inspection, undoing
from cylinders.queries.verification import verify
from tests import append_only, makers, settings

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

TABLE = "cylinders_serviceevent"


def a_cylinder_with_history() -> Cylinder:
    order = makers.receive()
    makers.take_down(order)
    return makers.cylinder_of(order)


def behind_the_triggers(statement: str) -> None:
    with connection.cursor() as cursor:
        if settings.TEST_ENGINE == "sqlite":
            append_only.lift()
        else:
            cursor.execute("SET session_replication_role = replica")
        cursor.execute(statement)
        if settings.TEST_ENGINE == "sqlite":
            append_only.set_again()
        else:
            cursor.execute("SET session_replication_role = DEFAULT")


def test_each_event_names_the_digest_of_the_one_before() -> None:
    entries = history.timeline(a_cylinder_with_history().pk)
    assert [entry.kind for entry in entries] == [
        Kind.RECEIVED,
        Kind.PROVEN_EMPTY,
        Kind.PART_REMOVED,
        Kind.PART_REMOVED,
        Kind.TORN_DOWN,
    ]
    assert [entry.sequence for entry in entries] == [1, 2, 3, 4, 5]
    assert len({entry.digest for entry in entries}) == 5


def test_an_untouched_history_has_no_problem() -> None:
    cylinder = a_cylinder_with_history()
    assert list(history.chain_problems(cylinder)) == []
    found = verify()
    assert (found.ok, found.cylinders, found.events) == (True, 1, 5)


@pytest.mark.parametrize("verb", ["UPDATE {} SET actor = 'staff:9'", "DELETE FROM {}"])
def test_the_database_refuses_to_change_or_remove_an_event(verb: str) -> None:
    a_cylinder_with_history()
    with (
        pytest.raises(DatabaseError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(verb.format(TABLE))
    assert verify().ok


@pytest.mark.parametrize(
    ("statement", "finds"),
    [
        ("UPDATE {} SET actor = 'staff:9' WHERE sequence = 2", "columns no longer say"),
        ("UPDATE {} SET digest = '00' WHERE sequence = 2", "no longer has the digest"),
        ("UPDATE {} SET canonical = '[' WHERE sequence = 2", "no longer has the digest"),
        ("DELETE FROM {} WHERE sequence = 3", "event 3 is missing"),
        ("DELETE FROM {} WHERE sequence = 5", "its row counts 5 events"),
    ],
)
def test_what_was_altered_behind_the_triggers_is_found(statement: str, finds: str) -> None:
    a_cylinder_with_history()
    behind_the_triggers(statement.format(TABLE))
    assert finds in " ".join(verify().problems)


@pytest.mark.parametrize(
    ("statement", "finds"),
    [
        ("UPDATE cylinders_cylinder SET life = 'in_service', serial = 'X1'", "serial"),
        ("UPDATE cylinders_cylinder SET last_visual = '2026-11'", "last_visual"),
        ("""UPDATE cylinders_cylinder SET decoded = '{"marks": []}'""", "reading of its stamp"),
        ("UPDATE cylinders_workorder SET stage = 'ready'", "stages of its orders"),
        ("UPDATE cylinders_part SET whereabouts = 'fitted'", "places of its parts"),
        ("UPDATE cylinders_workorder SET proven_empty = NOT proven_empty", "proven empty"),
        ("UPDATE cylinders_workorder SET stamp_agrees = (1 = 1)", "stamps that agree"),
        ("UPDATE cylinders_part SET thread = 'M25x2'", "thread: stored as 'M25x2'"),
        ("UPDATE cylinders_part SET serial = 'V2'", "serial: stored as 'V2'"),
        ("UPDATE cylinders_part SET oxygen_clean = NOT oxygen_clean", "oxygen_clean: stored"),
    ],
)
def test_a_row_that_no_event_explains_is_found(statement: str, finds: str) -> None:
    a_cylinder_with_history()
    with connection.cursor() as cursor:
        cursor.execute(statement)
    assert finds in " ".join(verify().problems)


@pytest.mark.django_db(transaction=True)
def test_an_event_outside_a_transaction_of_its_operation_is_refused() -> None:
    cylinder = a_cylinder_with_history()
    with pytest.raises(RuntimeError, match="open one"):
        history.append(cylinder, Ready(work_order=1), at=makers.NOON, by=Actor("staff", "1"))


def test_the_hashed_text_is_canonical_json() -> None:
    text = history.canonical({"b": "e\u0301", "a": [1, None, True]})
    assert text == '{"a":[1,null,true],"b":"\u00e9"}'
    assert json.loads(text) == {"a": [1, None, True], "b": "\u00e9"}


def test_times_are_kept_in_utc_whatever_zone_they_came_in() -> None:
    kathmandu = dt.timezone(dt.timedelta(hours=5, minutes=45))
    order = makers.receive(at=makers.NOON.astimezone(kathmandu))
    [entry] = history.timeline(order.cylinder_id)
    assert entry.at == makers.NOON
    assert verify().ok


@pytest.mark.parametrize(
    ("statement", "finds"),
    [
        ("UPDATE cylinders_inspection SET internal = 'fail'", "internal: stored as 'fail'"),
        ("DELETE FROM cylinders_inspection", "internal: stored as None"),
    ],
)
def test_an_inspection_that_was_altered_or_is_gone_is_found(statement: str, finds: str) -> None:
    order = makers.receive(services=("visual",))
    makers.take_down(order)
    look = inspection.Look(
        standard="CGA C-6.1",
        internal="pass",
        external="pass",
        threads="pass",
        sticker_removed=True,
    )
    inspection.record(
        work_order_id=order.pk,
        look=look,
        on=makers.NOON.date(),
        at=makers.NOON,
        by=Actor("staff", "1"),
    )
    assert verify().ok
    with connection.cursor() as cursor:
        cursor.execute(statement)
    assert finds in " ".join(verify().problems)


def a_cylinder_home_from_the_lab() -> Cylinder:
    order = makers.receive()
    makers.take_down(order)
    who: dict[str, Any] = {"at": makers.NOON, "by": Actor("staff", "1")}
    line = consignment.pack(work_order_id=order.pk, lab_id=makers.make_lab().pk, **who)
    consignment.send(consignment_id=line.consignment_id, carrier="Ines", on=makers.TODAY, **who)
    for step in (consignment.take_back, undoing.undo_return, consignment.take_back):
        assert verify().problems == ()
        step(work_order_id=order.pk, **who)
    return makers.cylinder_of(order)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE cylinders_consignmentline SET returned_at = NULL",
        "DELETE FROM cylinders_consignmentline",
        "UPDATE cylinders_consignment SET carrier = 'Somebody'",
        "UPDATE cylinders_consignment SET sent_at = NULL",
    ],
)
def test_a_run_to_the_lab_that_was_altered_is_found(statement: str) -> None:
    a_cylinder_home_from_the_lab()
    assert verify().ok
    with connection.cursor() as cursor:
        cursor.execute(statement)
    assert "its runs to a lab" in " ".join(verify().problems)


def test_a_packed_cylinder_that_leaves_its_run_is_told_from_one_that_was_taken_out() -> None:
    order = makers.receive()
    makers.take_down(order)
    who: dict[str, Any] = {"at": makers.NOON, "by": Actor("staff", "1")}
    lab = makers.make_lab()
    consignment.pack(work_order_id=order.pk, lab_id=lab.pk, **who)
    assert verify().ok
    Consignment.objects.get().lines.all().delete()
    assert "its runs to a lab" in " ".join(verify().problems)
    consignment.pack(work_order_id=order.pk, lab_id=lab.pk, **who)
    undoing.unpack(work_order_id=order.pk, **who)
    assert verify().ok
    consignment.pack(work_order_id=order.pk, lab_id=lab.pk, **who)
    condemnation.reject(work_order_id=order.pk, reason="a dent", **who)
    assert not ConsignmentLine.objects.exists()
    assert verify().ok


def test_a_message_that_only_a_row_says_went_is_found() -> None:
    cylinder = a_cylinder_with_history()
    Notice.objects.create(
        cylinder=cylinder,
        customer_id=cylinder.owner_id,
        duty="requalification",
        due=makers.TODAY,
        days_before=7,
        send_on=makers.TODAY,
        state="sent",
    )
    assert "messages that went" in " ".join(verify().problems)


@pytest.mark.django_db(transaction=True)
def test_no_event_is_written_outside_the_transaction_of_its_operation() -> None:
    cylinder = makers.cylinder_of(makers.receive())
    before = history.events_held()
    with pytest.raises(RuntimeError, match="in the transaction"):
        history.append(cylinder, Ready(1), at=makers.NOON, by=Actor("staff", "1"))
    with pytest.raises(RuntimeError, match="in the transaction"):
        history.append_many([(cylinder, Ready(1))], at=makers.NOON, by=Actor("staff", "1"))
    assert history.events_held() == before


def test_no_pairs_are_no_events() -> None:
    before = history.events_held()
    history.append_many([], at=makers.NOON, by=Actor("staff", "1"))
    assert history.events_held() == before
