"""The story in an owner's words: every kind of event is told or left out on purpose."""

import datetime as dt
from dataclasses import fields
from zoneinfo import ZoneInfo

import pytest

import cylinders.facts
from cylinders.facts import Facts, Kind
from cylinders.history import Entry
from cylinders.models import WorkOrder
from cylinders.queries.for_customer import where
from cylinders.queries.for_customer.moments import _TOGETHER, _WORDS, visits
from cylinders.rules.stages import Stage
from tests import makers

pytestmark = pytest.mark.django_db

#: What is the bench's own affair: no owner needs it, or it would tell of another cylinder.
LEFT_OUT = {
    Kind.PACKED,
    Kind.UNPACKED,
    Kind.PART_REFUSED,
    Kind.TAG_BOUND,
    Kind.TAG_RETIRED,
    Kind.NOTICE_UNSURE,
    Kind.LINK_ISSUED,
    Kind.LINK_REVOKED,
    Kind.FILE_ADDED,
    Kind.FILE_SHOWN,
    Kind.FILE_ERASED,
    Kind.RECORD_REJUDGED,
    Kind.LAB_REPORTED,
    Kind.REPORT_SETTLED,
    Kind.RECALL_TOLD,
}
PLAIN = {"str": "word", "int": 1, "bool": True, "list[str]": ["word"], "list[int]": [1]}


def facts_of(kind: Kind) -> dict[str, object]:
    """Facts of ``kind`` with something in every field."""
    [made] = [
        value
        for value in vars(cylinders.facts).values()
        if isinstance(value, type)
        and issubclass(value, Facts)
        and getattr(value, "kind", 0) == kind
    ]
    values: dict[str, object] = {}
    for field in fields(made):
        name = str(getattr(field.type, "__name__", field.type))
        values[field.name] = PLAIN.get(str(field.type).replace("<class '", "").strip("'>"), 1)
        if name in PLAIN:
            values[field.name] = PLAIN[name]
    return values


def test_every_kind_is_told_or_left_out_on_purpose() -> None:
    told = set(_WORDS) | set(_TOGETHER)
    assert told & LEFT_OUT == set()
    assert told | LEFT_OUT == set(Kind)


@pytest.mark.parametrize("kind", sorted(set(Kind) - LEFT_OUT))
def test_each_kind_is_told_in_a_short_title_without_its_codes(kind: Kind) -> None:
    at = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
    entry = Entry(1, kind, at, "staff:1", facts_of(kind), "")
    [visit] = visits([entry], zone=ZoneInfo("America/New_York"))
    [moment] = visit.moments
    assert moment.at.hour == 7
    assert 5 < len(moment.title) < 60
    assert moment.title[0].isupper()
    assert "staff" not in moment.title + moment.detail


def test_visits_are_kept_apart_and_the_latest_stands_first() -> None:
    at = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
    kinds = [Kind.RECEIVED, Kind.COLLECTED, Kind.NOTICE_SENT, Kind.RECEIVED, Kind.READY]
    entries = [
        Entry(n, kind, at + dt.timedelta(days=n), "staff:1", facts_of(kind), "")
        for n, kind in enumerate(kinds)
    ]
    second, first = visits(entries, zone=ZoneInfo("UTC"))
    assert [moment.title for moment in second.moments] == [
        "Ready for you",
        "We took your cylinder in",
    ]
    assert len(first.moments) == 3
    assert first.began == at
    assert [day for day, _ in first.days] == [(at + dt.timedelta(days=n)).date() for n in (2, 1, 0)]


@pytest.mark.parametrize("stage", list(Stage))
def test_every_stage_has_its_words_and_its_place_on_the_way(stage: Stage) -> None:
    order = makers.receive()
    WorkOrder.objects.filter(pk=order.pk).update(stage=stage)
    told = where.where_is(order.cylinder)
    assert told.heading
    assert told.says.endswith(".")
    assert [step.state for step in told.steps].count("here") == (1 if told.steps else 0)


def test_a_visit_without_a_test_shows_no_lab_on_its_way() -> None:
    order = makers.receive(services=("visual",))
    names = [step.name for step in where.where_is(order.cylinder).steps]
    assert names == ["Dropped off", "Taken apart", "Inspected", "Put together", "Ready"]
