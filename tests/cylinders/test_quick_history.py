"""The quick ways through the history say what the plain ones say."""

import typing

import pytest
from django.core.management import call_command
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders import facts, history
from cylinders.models import Cylinder
from cylinders.models.history import ServiceEvent
from tests import append_only, makers

texts = st.text(st.characters(codec="utf-8"))
plain = st.none() | st.booleans() | st.integers() | texts
contents = st.dictionaries(
    texts,
    st.recursive(
        plain, lambda inner: st.lists(inner) | st.dictionaries(texts, inner), max_leaves=8
    ),
)


@settings(max_examples=60)
@given(contents)
def test_the_quick_writer_writes_the_canonical_text(content: dict[str, typing.Any]) -> None:
    text = history.canonical(content)
    assert history.sealed(content) == (text, history.digest_of(text))


@pytest.mark.parametrize(
    "content",
    [
        {"a": "e\u0301", "b": "\u212b", "c": "\U0001f9ea"},
        {"a": "\x00\x1f\x7f\u2028", "b": '"\\/\b\f\n\r\t'},
        {"a": 2**70, "b": -(2**63) - 1},
        {"\u00e9": 1, "z": 2, "\uffff": 3, "\U00010000": 4},
    ],
)
def test_signs_and_numbers_that_writers_differ_in(content: dict[str, typing.Any]) -> None:
    text = history.canonical(content)
    assert history.sealed(content) == (text, history.digest_of(text))


def test_what_cannot_be_hashed_is_refused_by_both() -> None:
    for content in ({"a": makers.NOON}, {"a": {1, 2}}, {"a": makers.make_markings()}):
        with pytest.raises(TypeError):
            history.canonical(content)
        with pytest.raises(TypeError):
            history.sealed(content)


def test_no_fact_holds_a_float() -> None:
    kinds = [kind for kind in vars(facts).values() if hasattr(kind, "__dataclass_fields__")]
    hints = {kind: typing.get_type_hints(kind) for kind in kinds}
    assert len(hints) > 20
    for kind, types in hints.items():
        assert "float" not in str(types), kind


@pytest.fixture
def two_cylinders(db: None) -> list[Cylinder]:
    orders = [makers.receive(serial=f"KX4041{n}") for n in range(2)]
    makers.take_down(orders[1])
    return [makers.cylinder_of(order) for order in orders]


@pytest.mark.both_engines
def test_one_pass_finds_whole_chains_whole(two_cylinders: list[Cylinder]) -> None:
    assert list(history.quick_problems()) == []


@pytest.mark.django_db
def test_one_pass_over_nothing_finds_nothing() -> None:
    assert list(history.quick_problems()) == []


@pytest.mark.parametrize("whose", [0, 1])
def test_one_pass_finds_a_cylinder_without_its_events(
    two_cylinders: list[Cylinder], whose: int
) -> None:
    append_only.lift()
    ServiceEvent.objects.filter(cylinder=two_cylinders[whose]).delete()
    told = list(history.quick_problems())
    assert told == list(history.chain_problems(two_cylinders[whose]))
    assert told


@pytest.mark.parametrize(
    "change",
    [
        {"canonical": "{}"},
        {"digest": "0" * 64},
        {"sequence": 77},
    ],
)
def test_one_pass_finds_what_the_slow_one_finds(
    two_cylinders: list[Cylinder], change: dict[str, object]
) -> None:
    append_only.lift()
    ServiceEvent.objects.filter(cylinder=two_cylinders[1], sequence=2).update(**change)
    told = list(history.quick_problems())
    assert told == list(history.chain_problems(two_cylinders[1]))
    assert told


def test_one_pass_finds_a_moved_event_with_good_digests(two_cylinders: list[Cylinder]) -> None:
    append_only.lift()
    other = ServiceEvent.objects.get(cylinder=two_cylinders[0], sequence=1)
    mine = ServiceEvent.objects.filter(cylinder=two_cylinders[1], sequence=1)
    mine.update(canonical=other.canonical, digest=other.digest)
    assert list(history.quick_problems())


def test_one_pass_finds_an_end_that_was_cut_off(two_cylinders: list[Cylinder]) -> None:
    append_only.lift()
    ServiceEvent.objects.filter(cylinder=two_cylinders[1]).order_by("-sequence")[:1].get().delete()
    assert list(history.quick_problems())


def test_the_command_can_look_at_the_chains_alone(
    two_cylinders: list[Cylinder], capsys: pytest.CaptureFixture[str]
) -> None:
    call_command("verify", "--chains")
    assert "nothing altered" in capsys.readouterr().out.lower()
