"""A sweep whose n-th statement fails, for every n: nothing lost, nothing told twice."""

from contextlib import suppress

import pytest
from django.db import OperationalError, connection

from cylinders.models import Cylinder, Notice, NoticeState
from cylinders.queries.verification import problems_of
from tests import makers
from tests.cylinders.operations.reminders.cast import at, at_home, run
from tests.faults.failing import FailsAt
from tests.post_office import OFFICE

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("post_office")]

LONGEST = 400


@pytest.mark.parametrize(
    "apart", [5, pytest.param(1, marks=pytest.mark.long)], ids=["every fifth", "each"]
)
def test_a_sweep_may_fail_at_any_statement(apart: int) -> None:
    unsure = 0
    for number in range(1, LONGEST, apart):
        owner = makers.make_customer(f"Odo{number} Quill")
        cylinder = at_home(owner, serial=f"N{number}")
        OFFICE.empty()
        failing = FailsAt(number)
        with connection.execute_wrapper(failing), suppress(OperationalError):
            run(at("2026-11-25", 9))
        through = not failing.came_to_it
        run(at("2026-11-25", 9, 3))
        unsure += Notice.objects.filter(state=NoticeState.UNSURE).count()
        run(at("2026-11-25", 9, 20))
        rows = Notice.objects.filter(cylinder=cylinder, days_before=7)
        assert [row.state for row in rows] == [NoticeState.SENT], number
        assert [message.to for message in OFFICE.folded] == [[owner.email]], number
        cylinder.refresh_from_db()
        assert not [p for p in problems_of(cylinder) if "last_visual" not in p], number
        if through:
            break
        Cylinder.objects.update(life="rejected")  # out of the next one's way
    else:
        raise AssertionError("no sweep came through")
    assert number > 20
    assert unsure >= 1  # some statements lie between the sending and the note of it
