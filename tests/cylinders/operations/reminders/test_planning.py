"""What is planned is what the rules say, over a random shop; the index is never trusted blindly."""

import datetime as dt
import random
from collections.abc import Iterable
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cylinders.models import (
    Customer,
    Cylinder,
    Declined,
    DueLook,
    DueReach,
    KnownDue,
    Life,
    MessageKind,
    Notice,
    NoticeState,
    Shop,
    WorkOrder,
)
from cylinders.operations import correction, privacy
from cylinders.operations.reminders import outlook, plan
from cylinders.operations.reminders.indexing import look_again
from cylinders.operations.reminders.planning import AHEAD, plan_known
from cylinders.operations.reminders.reasons import Why
from cylinders.queries.verification import verify
from cylinders.rules import notices
from tests import makers
from tests.cylinders.operations.reminders.cast import BY, at_home, open_shop

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]
ON = dt.date(2026, 11, 25)
SPECIFICATIONS = ("3AL", "3AA", "3AL", "3HT", "4L", "")


@pytest.fixture(autouse=True)
def shop() -> Shop:
    return open_shop()


def month(rng: random.Random, *years: int) -> str:
    """A month near the end of its period, one far from it, one that lies ahead, or none."""
    year = rng.choice(years)
    return f"{year}-{rng.randint(1, 12):02d}" if rng.random() < 0.9 else ""


def random_shop(seed: int, *, cylinders: int = 80) -> None:
    """Owners who can be reached or not, cylinders at home, here, rejected, with any dates."""
    rng = random.Random(seed)
    owners = [makers.make_customer(f"Odo{n} Quill") for n in range(20)]
    Customer.objects.filter(pk__in=[owners[0].pk, owners[1].pk]).update(email_consent=False)
    Customer.objects.filter(pk=owners[2].pk).update(email_bounced=True)
    Customer.objects.filter(pk=owners[3].pk).update(email="")
    Customer.objects.filter(pk__in=[owners[4].pk, owners[1].pk]).update(text_consent=True)
    Declined.objects.create(customer=owners[5], kind=MessageKind.REMINDERS, at=makers.NOON)
    marks = {"authority": "DOT", "service_pressure": "3000", "first_test": "2008-06"}
    made = Cylinder.objects.bulk_create(
        Cylinder(
            **marks,
            owner=rng.choice(owners),
            specification=rng.choice(SPECIFICATIONS),
            requalified=month(rng, 2020, 2021, 2022, 2027),
            last_visual=month(rng, 2025, 2026, 2027),
            last_valve_service=month(rng, 2025, 2026),
            last_oxygen_clean=month(rng, 2025, 2026),
            use_gas=rng.choice(["air", "nitrox"]),
            life=rng.choice([Life.IN_SERVICE] * 9 + [Life.REJECTED]),
        )
        for _ in range(cylinders)
    )
    WorkOrder.objects.bulk_create(
        WorkOrder(cylinder=one, customer=one.owner, opened_at=makers.NOON, moved_at=makers.NOON)
        for one in made
        if rng.random() < 0.15
    )


def keys(rows: Iterable[Notice]) -> set[tuple[Any, ...]]:
    return {
        (
            *(row.cylinder_id, row.customer_id, row.duty, row.due),
            *(row.days_before, row.channel, row.send_on),
        )
        for row in rows
    }


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("texts", ["", "api.texts.LogSender"])
@pytest.mark.sampled(of=3)
def test_what_is_planned_is_what_the_rules_say(seed: int, texts: str, settings: Any) -> None:
    settings.TEXT_SENDER = texts
    random_shop(seed)
    Shop.objects.update(notice_days={"valve_service": [14, -3], "internal_visual": [90]})
    for day in (ON, ON + dt.timedelta(days=1), ON + dt.timedelta(days=37)):
        Notice.objects.all().delete()
        added = plan(on=day)
        said = keys(outlook(on=day, ahead=AHEAD))
        planned = Notice.objects.filter(occasion="")
        assert keys(planned) == said
        assert added == len(said) > 5
        assert bool(texts) is planned.filter(channel="text").exists()
        assert plan(on=day) == 0
    index = [problem for problem in verify().problems if "index" in problem]
    assert index == []


@pytest.mark.parametrize("days", [(60, 30, 7, 0, -30), (14,), (0, -1), (365, 3), (-30, -60), ()])
def test_a_notice_asked_by_its_window_is_the_same_as_asked_by_its_day(
    days: tuple[int, ...],
) -> None:
    for distance in range(-130, 480):
        due = ON + dt.timedelta(days=distance)
        by_day = {n for n, _ in notices.coming(due, on=ON, ahead=7, days_before=days)}
        windows = notices.windows(on=ON, ahead=7, days_before=days)
        by_window = [w.days_before for w in windows if w.first <= due <= w.last]
        assert sorted(by_day) == sorted(by_window), due


def test_only_what_something_happened_to_is_asked_again() -> None:
    homes = [at_home(serial=f"S{n}") for n in range(3)]
    assert look_again(on=ON) == 3
    assert look_again(on=ON) == 0
    correction.correct_marking(
        cylinder_id=homes[1].pk,
        field="requalified",
        becomes="2024-02",
        reason="read again",
        at=makers.NOON,
        by=BY,
    )
    assert look_again(on=ON) == 1
    due = KnownDue.objects.get(cylinder=homes[1], duty="requalification").due
    assert due == dt.date(2029, 2, 28)


def test_another_country_or_release_asks_everything_again() -> None:
    at_home()
    look_again(on=ON)
    Shop.objects.update(country="FR")
    assert look_again(on=ON) == 1
    DueLook.objects.update(edition="of yesterday")
    DueReach.objects.update(edition="of yesterday")
    assert look_again(on=ON) == 1


def test_a_mark_that_lay_ahead_counts_from_its_month_on() -> None:
    cylinder = at_home()
    Cylinder.objects.filter(pk=cylinder.pk).update(last_valve_service="2027-01")
    look_again(on=ON)
    assert KnownDue.objects.get(duty="valve_service").due is None
    assert DueLook.objects.get().again_on == dt.date(2027, 1, 1)
    assert look_again(on=dt.date(2026, 12, 31)) == 0
    assert look_again(on=dt.date(2027, 1, 1)) == 1
    assert KnownDue.objects.get(duty="valve_service").due == dt.date(2028, 1, 31)


def test_an_index_that_says_otherwise_than_the_rules_is_found() -> None:
    at_home()
    look_again(on=ON)
    KnownDue.objects.filter(duty="requalification").update(due=dt.date(2036, 11, 30))
    found = [problem for problem in verify().problems if "index" in problem]
    assert len(found) == 1
    assert "requalification: its index says 2036-11-30, the rules say 2026-11-30" in found[0]


def test_a_planner_asks_as_much_of_the_database_for_ten_cylinders_as_for_one() -> None:
    at_home(serial="Q0")
    look_again(on=ON)
    with CaptureQueriesContext(
        connection,
    ) as one:
        plan_known(on=ON)
    for number in range(1, 10):
        at_home(serial=f"Q{number}")
    look_again(on=ON)
    with CaptureQueriesContext(connection) as ten:
        plan_known(on=ON)
    assert len(ten) == len(one)


def test_a_consent_that_came_back_plans_again_what_it_had_withdrawn() -> None:
    cylinder = at_home()
    plan(on=ON)
    Notice.objects.update(state=NoticeState.WITHDRAWN, why=Why.NO_CONSENT)
    privacy.agree(customer_id=cylinder.owner_id, given=True, wording="yes", at=makers.NOON, by=BY)
    assert plan(on=ON) == 2
    assert set(Notice.objects.values_list("state", flat=True)) == {NoticeState.PLANNED}
