"""From a scanned text to the one thing it names, and tags that stand for one thing for ever."""

import pytest

from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.rules.refusal import Refused
from labels import codes, scanning
from labels.models import Tag, TagKind, TagState
from labels.operations import binding, minting
from labels.operations.binding import Thing
from labels.scanning import Named, ScanState, Unnamed
from tests import makers

pytestmark = [pytest.mark.django_db, pytest.mark.both_engines]

HOST, AT = "CYL.EXAMPLE", makers.NOON
BY = Actor("staff", "1")


def scan(text: str) -> Named | Unnamed:
    return scanning.identify(text, hosts={HOST})


def named(text: str) -> Named:
    found = scan(text)
    assert isinstance(found, Named), found
    return found


def issue(thing: Thing) -> Tag:
    return binding.issue(thing=thing, host=HOST, at=AT, by=BY)


def blank() -> Tag:
    return minting.mint(count=1, host=HOST, at=AT)[0]


def refused(code: str, action: object) -> None:
    before = history.events_held()
    assert callable(action)
    with pytest.raises(Refused) as refusal:
        action()
    assert refusal.value.code == code
    assert history.events_held() == before


def test_a_tag_names_its_thing_however_it_arrives() -> None:
    cylinder = makers.receive().cylinder
    tag = issue(Thing.cylinder(cylinder))
    for text in (tag.url, tag.url.lower(), tag.code.lower(), codes.show(tag.code), f"{tag.code}\r"):
        found = named(text)
        assert (found.cylinder, found.state, found.kind) == (cylinder, ScanState.LIVE, "cylinder")


def test_each_kind_names_what_it_was_printed_for() -> None:
    order = makers.receive()
    valve, _boot = makers.take_down(order)
    bag, kit, bare = (issue(t) for t in (Thing.bag(valve), Thing.kit(order), Thing.teardown(order)))
    assert named(bag.url).part == valve
    assert [named(tag.url).kind for tag in (bag, kit, bare)] == ["bag", "kit", "teardown"]
    assert all(named(tag.url).work_order == order for tag in (bag, kit, bare))
    assert not list(scanning.tag_problems())


def test_asking_again_for_a_tag_gives_the_same_one() -> None:
    thing = Thing.cylinder(makers.receive().cylinder)
    assert issue(thing) == issue(thing)
    assert Tag.objects.count() == 1


def test_a_well_formed_code_that_nobody_bears_is_unknown() -> None:
    code = codes.new_code()
    found = scan(code)
    assert isinstance(found, Unnamed)
    assert (found.reason, codes.show(code) in found.says) == ("unknown", True)


def test_a_misread_code_is_offered_only_where_a_live_tag_bears_it() -> None:
    tag = issue(Thing.cylinder(makers.receive().cylinder))
    for place, symbol in enumerate(tag.code):
        for other in codes.LOOK_ALIKES.get(symbol, ""):
            misread = tag.code[:place] + other + tag.code[place + 1 :]
            found = scan(misread)
            assert isinstance(found, Unnamed)
            if symbol in codes.LOOK_ALIKES.get(other, ""):
                assert tag.code in found.maybe
    binding.retire(code=tag.code, reason="torn off", at=AT, by=BY)
    found = scan("8" + tag.code[1:]) if tag.code[0] != "8" else scan("B" + tag.code[1:])
    assert isinstance(found, Unnamed)
    assert found.maybe == ()


def test_a_foreign_text_is_shown_and_names_nothing() -> None:
    for text in ("https://elsewhere.example.net/T/7K2M9QX4WBTCK", "WIFI:S:x;;", "12", "%", "_"):
        found = scan(text)
        assert isinstance(found, Unnamed)
        assert found.shown == text


def test_a_blank_tag_is_bound_once_and_for_ever() -> None:
    cylinder, other = makers.receive().cylinder, makers.receive(serial="B2").cylinder
    tag = blank()
    assert named(tag.url).state == ScanState.BLANK
    binding.bind(code=tag.code, thing=Thing.cylinder(cylinder), at=AT, by=BY)
    assert named(tag.url).cylinder == cylinder
    refused(
        "code_used",
        lambda: binding.bind(code=tag.code, thing=Thing.cylinder(other), at=AT, by=BY),
    )
    refused(
        "has_tag",
        lambda: binding.bind(code=blank().code, thing=Thing.cylinder(cylinder), at=AT, by=BY),
    )
    refused(
        "unknown_code",
        lambda: binding.bind(code=codes.new_code(), thing=Thing.cylinder(other), at=AT, by=BY),
    )


def test_a_replaced_tag_leads_on_to_the_last_of_its_line() -> None:
    cylinder = makers.receive().cylinder
    first = issue(Thing.cylinder(cylinder))
    line = [first]
    for reason in ("torn", "scratched", "lost", "faded", "torn again"):
        line.append(binding.replace(code=line[-1].code, host=HOST, reason=reason, at=AT, by=BY))
    found = named(first.url)
    assert (found.state, found.successor) == (ScanState.RETIRED, line[-1])
    assert Tag.objects.filter(state=TagState.LIVE, kind=TagKind.CYLINDER).count() == 1
    refused(
        "not_live",
        lambda: binding.replace(code=first.code, host=HOST, reason="again", at=AT, by=BY),
    )
    events = [entry.kind for entry in history.timeline(cylinder.pk)]
    assert events.count(Kind.TAG_RETIRED) == 5
    assert events.count(Kind.TAG_BOUND) == 6
    assert not list(scanning.tag_problems())


def test_a_tag_is_retired_with_a_reason_and_never_given_again() -> None:
    cylinder = makers.receive().cylinder
    tag = issue(Thing.cylinder(cylinder))
    refused("no_reason", lambda: binding.retire(code=tag.code, reason=" ", at=AT, by=BY))
    binding.retire(code=tag.code, reason="lost", at=AT, by=BY)
    refused("not_live", lambda: binding.retire(code=tag.code, reason="lost", at=AT, by=BY))
    assert issue(Thing.cylinder(cylinder)).code != tag.code


def test_a_code_that_is_taken_is_drawn_again_and_a_stuck_source_is_noticed() -> None:
    first = blank()
    numbers = iter([_number(first.code), _number(first.code), 5, 6, 7, 8, 9, 10, 11, 12])
    [second] = minting.mint(count=1, host=HOST, at=AT, draw=lambda: next(numbers))
    assert second.code != first.code
    with pytest.raises(RuntimeError, match="stuck"):
        minting.mint(count=1, host=HOST, at=AT, draw=lambda: _number(first.code))
    for count in (0, minting.MOST_IN_A_RUN + 1):
        with pytest.raises(ValueError, match="ask for 1 to"):
            minting.mint(count=count, host=HOST, at=AT)


def _number(code: str) -> int:
    number = 0
    for symbol in code[: codes.LENGTH - 1]:
        number = number * 32 + codes.ALPHABET.index(symbol)
    return number


def test_a_tag_that_was_moved_behind_the_operations_is_found() -> None:
    tag = issue(Thing.cylinder(makers.receive().cylinder))
    other = makers.receive(serial="B2").cylinder
    Tag.objects.filter(pk=tag.pk).update(cylinder=other)
    assert [tag.code in problem for problem in scanning.tag_problems()] == [True]


def test_a_retired_tag_that_was_made_blank_again_behind_the_operations_is_found() -> None:
    tag = issue(Thing.cylinder(makers.receive().cylinder))
    binding.retire(code=tag.code, reason="lost", at=AT, by=BY)
    assert not list(scanning.tag_problems())
    Tag.objects.filter(pk=tag.pk).update(state=TagState.MINTED)
    assert [tag.code in problem for problem in scanning.tag_problems()] == [True]
