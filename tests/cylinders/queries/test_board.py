"""The board costs the same for one visit and for many, and says what is next for each."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cylinders.models import Consignment, ConsignmentLine, Service
from cylinders.queries.board import Row, board, next_action
from cylinders.rules.stages import Stage
from tests import makers

pytestmark = pytest.mark.django_db


def torn_down(serial: str) -> None:
    makers.take_down(makers.receive(services=(Service.REQUALIFICATION,), serial=serial))


def look() -> tuple[list[Row], int]:
    with CaptureQueriesContext(connection) as queries:
        columns = board(now=makers.NOON)
    return [row for column in columns for row in column.rows], len(queries)


def test_the_board_costs_the_same_however_many_visits_are_torn_down() -> None:
    torn_down("KX40001")
    rows, few = look()
    assert [row.order.stage for row in rows] == [Stage.TORN_DOWN]
    for serial in ("KX40002", "KX40003", "KX40004"):
        torn_down(serial)
    rows, many = look()
    assert len(rows) == 4
    assert (few, many) == (1, 1)


def test_the_board_says_what_the_visit_s_own_page_says() -> None:
    torn_down("KX40001")
    makers.receive(serial="KX40002")
    rows, _ = look()
    assert len({row.then for row in rows}) == 2
    assert [row.then for row in rows] == [next_action(row.order).says for row in rows]


def test_what_stands_on_a_list_is_sent_and_what_does_not_is_packed() -> None:
    torn_down("KX40001")
    torn_down("KX40002")
    first, second = (row.order for row in look()[0])
    run = Consignment.objects.create(lab=makers.make_lab(), opened_at=makers.NOON)
    ConsignmentLine.objects.create(consignment=run, work_order=first, packed_at=makers.NOON)
    assert [next_action(order).name for order in (first, second)] == ["send", "pack"]
