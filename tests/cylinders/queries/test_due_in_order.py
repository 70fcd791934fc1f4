"""The list that is read from the index is, item for item, what asking every rule gives."""

import datetime as dt
import random
import threading

import pytest
import time_machine
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from cylinders import growth, tasks
from cylinders.models import Cylinder, DueLook, DueReach, KnownDue, Life, OwnerRow, Shop
from cylinders.operations import correction, owner_rows
from cylinders.operations.reminders.indexing import look_again
from cylinders.queries import due_in_order
from cylinders.queries.due import DueItem, due_list
from cylinders.queries.due_counts import MOST_COUNTED, Count, due_count, due_months
from cylinders.queries.due_in_order import START, Place, ask, before, due_items, due_page
from cylinders.queries.verification import verify
from cylinders.rules.month import Month
from tests import makers
from tests.cylinders.operations.reminders.cast import BY, open_shop
from tests.threads import in_a_thread

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]
ON = dt.date(2026, 11, 25)
LIVES = [Life.IN_SERVICE] * 8 + [Life.REJECTED, Life.CONDEMNED]
Row = tuple[int, str, dt.date | None, str, str]


@pytest.fixture(autouse=True)
def shop() -> Shop:
    return open_shop()


def rows(items: list[DueItem]) -> list[Row]:
    return [
        (i.cylinder.pk, i.duty.kind.value, i.duty.due, i.duty.state.value, i.duty.says)
        for i in items
    ]


def by_pages(*, on: dt.date, within: int, size: int) -> list[DueItem]:
    """All pages one after the other, as somebody turns them."""
    until, after = on + dt.timedelta(days=within), START
    found: list[DueItem] = []
    while True:
        page = due_page(ask(on=on, until=until), on=on, until=until, after=after, size=size)
        assert page.whole
        found += page.items
        if page.then is None:
            return found
        after = page.then


def month(rng: random.Random) -> str:
    near = [f"{year}-{number:02d}" for year in (2021, 2024, 2025, 2026) for number in range(1, 13)]
    return rng.choice([*near, "2026-12", "2027-01", "2027-11", "", ""])


def a_world(rng: random.Random, *, cylinders: int) -> list[int]:
    owner = makers.make_customer("Odo Quill")
    made = Cylinder.objects.bulk_create(
        Cylinder(
            owner=owner,
            authority=rng.choice(["DOT", "DOT", "TC", ""]),
            specification=rng.choice(["3AL", "3AA", "E9999", "3HT", ""]),
            permit=rng.choice(["", "9999"]),
            alloy=rng.choice(["", "6351-T6", "6061-T6"]),
            service_pressure="3000",
            first_test=rng.choice(["2008-06", "2027-02", ""]),
            requalified=month(rng),
            stamped_due=rng.choice(["", "", "", "2027-03"]),
            last_visual=month(rng),
            last_thread_examination=month(rng),
            last_valve_service=month(rng),
            last_oxygen_clean=month(rng),
            use_gas=rng.choice(["air", "nitrox"]),
            life=rng.choice(LIVES),
            serial=f"S{number}",
        )
        for number in range(cylinders)
    )
    return [cylinder.pk for cylinder in made]


def something_happens(rng: random.Random, numbers: list[int], day: dt.date) -> dt.date:
    """One of the things after which the list may be another; returns the day it then is."""
    what = rng.randrange(7)
    if what == 0:  # a mark is read again, which the history tells
        correction.correct_marking(
            cylinder_id=rng.choice(numbers),
            field="requalified",
            becomes=month(rng) or "2020-01",
            reason="read again",
            at=makers.NOON,
            by=BY,
        )
    elif what == 1:
        numbers.append(makers.receive(serial=f"N{rng.random()}", requalified="2021-12").cylinder_id)
    elif what == 2:
        Shop.objects.update(country=rng.choice(["US", "FR", "DE", "NZ"]))
    elif what == 3:
        figures = owner_rows.Figures(requalification_months=rng.choice([12, 24]), visual_months=6)
        owner_rows.add_row(
            subject=OwnerRow.Subject.COUNTRY,
            name=rng.choice(["US", "FR"]),
            figures=figures,
            since=day + dt.timedelta(days=rng.choice([-9, 0, 20])),
            cites="a text",
            reason="it says so",
            at=makers.NOON + dt.timedelta(seconds=OwnerRow.objects.count()),
            by=makers.staff(makers.make_technician(f"t{OwnerRow.objects.count()}")),
        )
    elif what == 4:
        look_again(on=day)
    else:
        return day + dt.timedelta(days=rng.choice([1, 1, 6, 37, 70, -1, -40]))
    return day


def check_a_story(seed: int, *, cylinders: int, steps: int) -> int:
    rng, day, listed = random.Random(seed), ON, 0
    numbers = a_world(rng, cylinders=cylinders)
    for _step in range(steps):
        within = rng.choice([0, 30, 60, 365])
        said = rows(due_list(on=day, within_days=within))
        assert rows(due_items(on=day, within_days=within)) == said
        assert rows(by_pages(on=day, within=within, size=rng.choice([1, 2, 7, 100]))) == said
        until = day + dt.timedelta(days=within)
        assert due_count(ask(on=day, until=until), until=until) == Count(len(said))
        listed += len(said)
        day = something_happens(rng, numbers, day)
    look_again(on=day)
    assert [one for one in verify().problems if "index" in one] == []
    return listed


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.sampled(of=3, in_turns=True)
def test_the_list_is_what_every_rule_says_whatever_happened(seed: int) -> None:
    assert check_a_story(seed, cylinders=12, steps=14) > 100


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 106))
def test_the_list_is_what_every_rule_says_over_long_stories(seed: int) -> None:
    assert check_a_story(seed, cylinders=25, steps=40) > 1_000


def test_only_what_may_have_changed_and_what_is_shown_is_asked_about() -> None:
    a_world(random.Random(1), cylinders=60)
    look_again(on=ON)
    until = ON + dt.timedelta(days=60)
    assert ask(on=ON, until=until).numbers == frozenset()
    order = makers.receive(requalified="2021-12")
    asked = ask(on=ON, until=until)
    assert asked.numbers == frozenset({order.cylinder_id})
    look_again(on=ON)
    assert ask(on=ON, until=until).numbers == frozenset()
    with CaptureQueriesContext(connection) as ten:
        due_page(asked, on=ON, until=until, size=10)
    with CaptureQueriesContext(connection) as forty:
        due_page(asked, on=ON, until=until, size=40)
    assert max(len(ten), len(forty)) <= 3


def test_a_look_again_asks_the_database_as_much_however_many_have_not_changed() -> None:
    asked = []
    for cylinders in (5, 60):
        a_world(random.Random(1), cylinders=cylinders)
        look_again(on=ON)
        makers.receive(serial=f"K{cylinders}")
        with CaptureQueriesContext(connection) as queries:
            assert look_again(on=ON) == 1
        asked.append(len(queries))
    assert asked[0] == asked[1]


def test_the_clock_keeps_the_index() -> None:
    makers.receive()
    with time_machine.travel(makers.NOON):
        tasks.keep_due_days()
    assert ask(on=ON, until=ON).numbers == frozenset()


def test_a_cylinder_that_no_longer_serves_leaves_the_index() -> None:
    cylinder = makers.receive().cylinder
    look_again(on=ON)
    assert KnownDue.objects.count() > 0
    Cylinder.objects.filter(pk=cylinder.pk).update(life=Life.CONDEMNED, events_held=99)
    DueReach.objects.update(place=0)
    assert ask(on=ON, until=ON).items == ()
    look_again(on=ON)
    assert KnownDue.objects.count() == 0


def test_where_too_much_has_changed_the_page_says_that_it_may_lack_some(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    numbers = a_world(random.Random(2), cylinders=9)
    look_again(on=ON)
    monkeypatch.setattr(due_in_order, "MOST_ASKED", 3)
    Shop.objects.update(country="FR")
    until = ON + dt.timedelta(days=365)
    asked = ask(on=ON, until=until, most=3)
    page = due_page(asked, on=ON, until=until)
    assert not page.whole
    said = rows(due_list(on=ON, within_days=365))
    assert page.items
    assert all(row in said for row in rows(list(page.items)))
    assert rows(due_items(on=ON, within_days=365)) == said
    assert ask(on=ON, until=until, most=len(numbers)).whole


def test_a_page_may_begin_with_a_month() -> None:
    a_world(random.Random(3), cylinders=30)
    look_again(on=ON)
    until = ON + dt.timedelta(days=365)
    after = before(dt.date(2027, 1, 1))
    page = due_page(ask(on=ON, until=until), on=ON, until=until, after=after)
    said = [row for row in rows(due_list(on=ON, within_days=365)) if row[2]]
    assert rows(list(page.items)) == [row for row in said if str(row[2]) >= "2027-01-01"]


def test_months_count_each_cylinder_and_each_duty(monkeypatch: pytest.MonkeyPatch) -> None:
    a_world(random.Random(4), cylinders=40)
    look_again(on=ON)
    makers.receive(requalified="2021-12")
    months = [Month.of(ON).plus_months(number) for number in range(12)]
    asked = ask(on=ON, until=months[-1].last_day)
    told = due_months(asked, months)
    items = due_list(on=ON, within_days=(months[-1].last_day - ON).days)
    for one in told.months:
        here = [item for item in items if item.duty.due and Month.of(item.duty.due) == one.month]
        assert one.cylinders == Count(len({item.cylinder.pk for item in here}))
        kinds = [item.duty.kind for item in here]
        assert one.duties == {kind: Count(kinds.count(kind)) for kind in one.duties}
        assert set(one.duties) == set(kinds)
    assert told.unknown == Count(len({i.cylinder.pk for i in items if i.duty.due is None}))
    # Where there are too many to read, each kind is counted by itself, and says so.
    monkeypatch.setattr("cylinders.queries.due_counts._ENOUGH", 5)
    many = due_months(asked, months)
    assert [one.duties for one in many.months] == [one.duties for one in told.months]
    assert any(one.cylinders == Count(MOST_COUNTED, more=True) for one in many.months)


def test_an_index_that_leaves_one_out_is_found() -> None:
    cylinder = makers.receive().cylinder
    look_again(on=ON)
    assert verify().ok
    DueLook.objects.all().delete()
    assert [one for one in verify().problems if "index" in one] == [
        f"cylinder {cylinder.pk}: missing or old in an index of due days that says it is whole"
    ]


@pytest.mark.parametrize("becomes", [None, dt.date(2031, 1, 31)])
def test_a_day_that_is_not_known_and_one_that_is_are_held_apart(becomes: dt.date | None) -> None:
    makers.receive()
    look_again(on=ON)
    there = KnownDue.objects.filter(due__isnull=becomes is not None)
    assert there.update(due=becomes) > 0
    assert any("its index says" in one for one in verify().problems)
    KnownDue.objects.all().delete()
    assert any("its index says nothing" in one for one in verify().problems)


@pytest.mark.django_db(transaction=True)
def test_an_event_that_is_numbered_early_and_comes_late_is_not_overlooked() -> None:
    """One has written and not ended; another writes a later event; then the index is kept."""
    first = makers.receive(serial="A1", requalified="2026-10").cylinder_id
    second = makers.receive(serial="A2", requalified="2026-10").cylinder_id
    look_again(on=ON)
    written, go_on = threading.Event(), threading.Event()

    def slowly() -> None:
        with transaction.atomic():
            correct(first, "2019-03")
            written.set()
            assert go_on.wait(20)

    late = in_a_thread(slowly)
    assert written.wait(20)
    if connection.vendor == "postgresql":  # the other engine lets one write at a time
        correct(second, "2019-04")
        assert growth.settled_by_now() is None
        assert look_again(on=ON) == 1  # it waits for nobody whose work it cannot see
        assert numbers_of("requalification") == {second}
        go_on.set()
        late.join(20)
    else:
        go_on.set()
        late.join(20)
        correct(second, "2019-04")
    assert numbers_of("requalification") == {first, second}
    assert look_again(on=ON) >= 1
    assert numbers_of("requalification") == {first, second}
    assert [one for one in verify().problems if "index" in one] == []


def numbers_of(duty: str) -> set[int]:
    """The cylinders that the list has with that duty; it is what the rules say."""
    items = due_items(on=ON, within_days=60)
    assert rows(items) == rows(due_list(on=ON, within_days=60))
    return {item.cylinder.pk for item in items if item.duty.kind.value == duty}


def correct(number: int, becomes: str) -> None:
    correction.correct_marking(
        cylinder_id=number,
        field="requalified",
        becomes=becomes,
        reason="read again",
        at=makers.NOON,
        by=BY,
    )


def test_a_place_behind_all_is_the_end() -> None:
    a_world(random.Random(5), cylinders=3)
    look_again(on=ON)
    asked = ask(on=ON, until=ON)
    page = due_page(asked, on=ON, until=ON, after=Place(ON, 2**62))
    assert (page.items, page.then) == ((), None)
