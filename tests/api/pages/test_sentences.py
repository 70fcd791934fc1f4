import dataclasses
from typing import Any

import pytest

from api.pages.names import Names, names_for
from api.pages.sentences import SENTENCES, sentence, tell
from cylinders import facts, history
from cylinders.facts import Facts, Kind
from tests import makers

FACTS = [
    value
    for value in vars(facts).values()
    if isinstance(value, type) and issubclass(value, Facts) and value is not Facts
]
SAMPLES: dict[str, Any] = {
    "int": 7,
    "str": "word",
    "bool": True,
    "int | None": 7,
    "bool | None": None,
    "list[str]": ["one", "two"],
    "list[int]": [1, 2],
    "Markings": {},
}


def _filled(kind: type[Facts]) -> dict[str, Any]:
    return {field.name: SAMPLES[_name(field.type)] for field in dataclasses.fields(kind)}


def _name(annotation: Any) -> str:
    return annotation.__name__ if isinstance(annotation, type) else str(annotation)


def test_every_kind_of_event_has_its_sentence() -> None:
    assert set(SENTENCES) == set(Kind)
    assert {value.kind for value in FACTS} == set(Kind)


@pytest.mark.parametrize("kind", FACTS, ids=lambda kind: str(kind.kind))
def test_each_sentence_is_told_from_the_facts_of_its_kind(kind: type[Facts]) -> None:
    says = sentence(kind.kind, _filled(kind), Names())
    assert says.endswith(".")
    assert says[0].isupper()
    assert "None" not in says
    assert "  " not in says


@pytest.mark.django_db
def test_a_story_names_people_and_parts_and_begins_with_the_latest() -> None:
    user = makers.make_technician()
    order = makers.receive(by=makers.staff(user))
    makers.take_down(order, by=makers.staff(user))
    entries = history.timeline(order.cylinder_id)
    lines = tell(entries, names_for(entries))
    assert [line.says for line in lines] == [
        "Taken down. Outside sound, travel plug in.",
        "Taken off: black boot.",
        "Taken off: valve (3/4-14 NPSM, yoke, no. V1).",
        "Drained and proven empty: valve open, no hiss.",
        "Dropped off for the first time for Odo Quill. Wanted: requalification, visual, fill.",
    ]
    assert {line.who for line in lines} == {"tessa"}


def test_a_number_without_a_name_is_shown_as_a_number() -> None:
    names = Names()
    assert names.who("staff:3") == "staff 3"
    assert names.who("lab:2") == "lab 2"
    assert names.who("customer:7") == "the owner"
    assert names.who("service:sweep") == "the service"
    assert names.customer(4) == "customer 4"
