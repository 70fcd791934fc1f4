"""The index of due days while others write, look too, or begin it anew."""

import datetime as dt

import pytest
from django.db.models import QuerySet

from cylinders import growth
from cylinders.models import Cylinder, DueLook, DueReach, Shop
from cylinders.operations.reminders import indexing, planning
from cylinders.operations.reminders.indexing import look_again
from cylinders.queries.due_index import RuleBook
from cylinders.queries.verification import verify
from tests import makers
from tests.cylinders.operations.reminders.cast import at_home, open_shop

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]
ON = dt.date(2026, 11, 25)


@pytest.fixture(autouse=True)
def shop() -> Shop:
    return open_shop()


def index_problems() -> list[str]:
    return [problem for problem in verify().problems if "index" in problem]


def test_where_somebody_always_writes_the_first_place_is_waited_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    at_home()
    monkeypatch.setattr(growth, "settled_by_now", lambda: None)
    assert look_again(on=ON) == 1
    held = DueReach.objects.get().place
    assert held is not None
    assert held > 0
    assert look_again(on=ON) == 0
    assert DueReach.objects.get().place == held, "without a settled place it stays where it was"


@pytest.mark.parametrize("made_before", [False, True])
def test_a_cylinder_in_somebodys_hands_is_looked_at_last(
    monkeypatch: pytest.MonkeyPatch, *, made_before: bool
) -> None:
    if made_before:
        at_home(serial="A1")
        look_again(on=ON)
    at_home(makers.make_customer("Bo Kelp"), serial="B2")
    monkeypatch.setattr(indexing, "_free", lambda rows: rows.none())  # as if all were locked
    assert look_again(on=ON) == 1
    assert DueLook.objects.count() == Cylinder.objects.count()
    assert index_problems() == []


def test_who_was_overtaken_leaves_the_rest_to_who_overtook(monkeypatch: pytest.MonkeyPatch) -> None:
    at_home()
    free = indexing._free

    def overtaken(rows: QuerySet[Cylinder]) -> QuerySet[Cylinder]:
        DueReach.objects.update(turn="of somebody else")
        return free(rows)

    monkeypatch.setattr(indexing, "_free", overtaken)
    assert look_again(on=ON) == 0
    assert not DueLook.objects.exists()
    monkeypatch.setattr(indexing, "_free", free)
    assert look_again(on=ON) == 1


def test_who_was_overtaken_at_the_end_does_not_say_how_far_it_is_known(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    at_home()
    looks = indexing._looks

    def overtaken(book: RuleBook, held: DueReach, *, on: dt.date, behind: int | None) -> list[int]:
        found = list(looks(book, held, on=on, behind=behind))
        DueReach.objects.update(turn="of somebody else")
        return found

    monkeypatch.setattr(indexing, "_looks", overtaken)
    assert look_again(on=ON) == 1
    assert DueReach.objects.get().place is None


def test_after_a_great_many_rows_the_database_looks_at_the_table_anew(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    at_home()
    monkeypatch.setattr(planning, "MANY", 1)
    assert planning.plan(on=ON) == 2
    assert planning.plan(on=ON) == 0
