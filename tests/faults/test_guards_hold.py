"""What the database and the operations themselves refuse, should the look before it be too old."""

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from django.db import IntegrityError, OperationalError, connection, connections, transaction

from cylinders import history
from cylinders.models import Consignment, ConsignmentLine, Notice, NoticeState, TestRecord
from cylinders.operations import fitting
from cylinders.operations.reminders import sending
from cylinders.operations.reminders.handing import Fate
from cylinders.operations.reminders.letters import Letter
from labels.models import Tag
from tests import makers
from tests.faults import worlds

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]


def _again(row: Any) -> Callable[[], object]:
    """The same row once more, under another number."""

    def save() -> object:
        row.pk, row._state.adding = None, True
        return row.save(force_insert=True)

    return save


def _second_tag() -> Callable[[], object]:
    old = Tag.objects.get(code=worlds.tagged())
    _code, order = worlds.blank()
    blank = Tag.objects.get(state="minted")
    assert order.pk
    return lambda: Tag.objects.filter(pk=blank.pk).update(
        state="live", kind="cylinder", cylinder=old.cylinder_id
    )


DOUBLES: dict[str, Callable[[], Callable[[], object]]] = {
    "an open visit": lambda: _again(makers.receive()),
    "a live tag": _second_tag,
    "a lab's reference": lambda: _again(TestRecord.objects.get(pk=worlds.reported().pk)),
    "a reminder": lambda: _again(worlds.waiting(NoticeState.SENT)),
    "a run that is being packed": lambda: _again(
        Consignment.objects.get(lines__work_order=worlds.packed())
    ),
    "a line of a run": lambda: _again(ConsignmentLine.objects.get(work_order=worlds.packed())),
}


@pytest.mark.parametrize("what", DOUBLES)
def test_the_database_refuses_a_double(what: str) -> None:
    double = DOUBLES[what]()
    with pytest.raises(IntegrityError), transaction.atomic():
        double()


def test_two_events_at_one_place_are_refused() -> None:
    cylinder = makers.cylinder_of(makers.receive())
    with (
        pytest.raises(IntegrityError),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(
            "INSERT INTO cylinders_serviceevent (cylinder_id, sequence, kind, happened_at, actor,"
            " canonical, digest) SELECT cylinder_id, sequence, kind, happened_at, actor,"
            " canonical, digest FROM cylinders_serviceevent WHERE cylinder_id = %s",
            [cylinder.pk],
        )


def test_a_bag_that_somebody_emptied_after_the_look_is_not_fitted_twice(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    order = worlds.inspected()
    seen = order.parts.get(kind="valve")
    assert worlds.offer(order, seen).fits
    look, looks = fitting._find, [seen]
    monkeypatch.setattr(fitting, "_find", lambda pk: looks.pop() if looks else look(pk))
    late = worlds.offer(order, seen)
    assert (late.fits, late.code) == (False, "already_fitted")


@pytest.mark.django_db(transaction=True)
def test_who_works_on_a_cylinder_keeps_others_from_it() -> None:
    order = makers.receive()
    other = connections.create_connection("default")
    try:
        with transaction.atomic():
            history.lock(order.cylinder_id)
            with pytest.raises(OperationalError), other.cursor() as cursor:
                if connection.vendor == "sqlite":
                    cursor.execute("PRAGMA busy_timeout = 0")
                    cursor.execute("BEGIN IMMEDIATE")
                else:
                    cursor.execute(
                        "SELECT id FROM cylinders_cylinder WHERE id = %s FOR UPDATE NOWAIT",
                        [order.cylinder_id],
                    )
    finally:
        other.close()


def test_a_sweeper_whose_lease_is_over_says_nothing_of_the_message() -> None:
    row = worlds.waiting(NoticeState.SENDING)
    Notice.objects.filter(pk=row.pk).update(lease_token="mine", message_id="<1@example.org>")
    letter = Letter("odo@example.org", "due", "text", "<p>text</p>")
    going = sending.Going("another's", (row.pk,), "<1@example.org>", again=False, letter=letter)
    at = makers.NOON + dt.timedelta(hours=1)
    assert sending.settle(going, Fate.SENT, "", at=at) == 0
    row.refresh_from_db()
    assert row.state == NoticeState.SENDING
