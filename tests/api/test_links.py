"""A link opens for whoever holds it, until it ends; nothing else opens anything."""

import datetime as dt
import math
from collections import Counter

import pytest

from api import links
from api.links import Ended, Issued
from api.models import StatusLink
from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.models import Cylinder
from cylinders.operations import handover
from cylinders.rules.refusal import Refused
from tests import makers

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

BY = Actor("staff", "1")
AT = makers.NOON
SECOND = dt.timedelta(seconds=1)


def issued() -> Issued:
    order = makers.receive()
    return links.issue(cylinder_id=order.cylinder_id, at=AT, by=BY)


def test_a_fresh_link_opens_and_is_kept_as_a_digest_only() -> None:
    link = issued()
    opened = links.open_link(link.token, at=AT)
    assert opened == link.link
    assert len(link.link.digest) == 64
    assert link.token not in str(StatusLink.objects.values_list().get())
    entry = history.timeline(link.link.cylinder_id)[-1]
    assert entry.kind is Kind.LINK_ISSUED
    assert link.token not in str(entry.facts)


def test_a_token_has_160_bits_and_every_symbol_comes_up() -> None:
    order = makers.receive()
    tokens = [links.issue(cylinder_id=order.cylinder_id, at=AT, by=BY).token for _ in range(60)]
    seen = Counter("".join(tokens))
    assert {len(token) for token in tokens} == {32}
    assert math.log2(len(seen) ** 32) == 160
    assert len(set(tokens)) == 60


def test_each_place_of_a_token_counts() -> None:
    token = issued().token
    for place in range(len(token)):
        other = "a" if token[place] != "a" else "b"
        assert links.open_link(token[:place] + other + token[place + 1 :], at=AT) is None


@pytest.mark.parametrize(
    "change",
    [str.upper, str.title, lambda t: "-".join(t[n : n + 4] for n in range(0, 32, 4))]
    + [lambda t, end=end: t + end for end in (".", ",", ")", "]", ">", ";", '"', "...")]
    + [lambda t: t.replace("0", "o").replace("1", "l"), lambda t: t.replace("1", "I")],
)
def test_what_hands_and_mail_programs_do_to_a_link_is_forgiven(change: object) -> None:
    token = issued().token
    assert callable(change)
    assert isinstance(links.open_link(change(token), at=AT), StatusLink)


@pytest.mark.parametrize(
    "change",
    [
        lambda _t: "",
        lambda t: t[:-1],
        lambda t: t + "a",
        lambda t: t[1:],
        lambda t: t + "%00",
        lambda t: t + "\x00",
        lambda t: f"{t[:16]}=\n{t[16:]}",
        lambda t: f"{t[:16]} {t[16:]}",
        lambda t: t + "==",
        lambda t: t * 2,
        lambda t: t[::-1],
        lambda _t: "a" * 10_000,
        lambda _t: "' OR 1=1--",
        lambda _t: "{{ 7*7 }}",
        lambda _t: "../../etc/passwd",
        lambda _t: "%s%n",
        lambda t: t.replace(t[0], "\uff21", 1),
        lambda _t: "\u0663" * 32,
    ],
)
def test_nothing_else_opens_it(change: object) -> None:
    token = issued().token
    assert callable(change)
    assert links.open_link(change(token), at=AT) is None


def test_a_link_ends_at_its_second_and_not_before() -> None:
    link = issued()
    end = link.link.expires_at
    assert isinstance(links.open_link(link.token, at=end - SECOND), StatusLink)
    assert links.open_link(link.token, at=end) is Ended.EXPIRED
    assert links.open_link(link.token, at=end + SECOND) is Ended.EXPIRED


def test_one_link_is_revoked_and_the_others_go_on() -> None:
    first = issued()
    second = links.issue(cylinder_id=first.link.cylinder_id, at=AT, by=BY)
    links.revoke(link_id=first.link.pk, reason="phone lost", at=AT, by=BY)
    assert links.open_link(first.token, at=AT) is Ended.REVOKED
    assert isinstance(links.open_link(second.token, at=AT), StatusLink)
    assert history.timeline(first.link.cylinder_id)[-1].kind is Kind.LINK_REVOKED


def test_a_link_is_revoked_once_with_a_reason() -> None:
    link = issued()
    with pytest.raises(Refused, match="why"):
        links.revoke(link_id=link.link.pk, reason=" ", at=AT, by=BY)
    links.revoke(link_id=link.link.pk, reason="phone lost", at=AT, by=BY)
    with pytest.raises(Refused, match="already"):
        links.revoke(link_id=link.link.pk, reason="again", at=AT, by=BY)
    with pytest.raises(Refused, match="no such link"):
        links.revoke(link_id=0, reason="x", at=AT, by=BY)


def test_a_sold_cylinder_ends_the_sellers_links_even_where_nobody_thought_of_them() -> None:
    link = issued()
    new = makers.make_customer("Nell Drake")
    handover.change_owner(cylinder_id=link.link.cylinder_id, owner_id=new.pk, at=AT, by=BY)
    assert links.open_link(link.token, at=AT) is Ended.SOLD
    theirs = links.issue(cylinder_id=link.link.cylinder_id, at=AT, by=BY)
    assert theirs.link.customer == new
    assert isinstance(links.open_link(theirs.token, at=AT), StatusLink)


def test_changing_the_owner_at_the_edge_revokes_every_link_for_good() -> None:
    link = issued()
    number = link.link.cylinder_id
    old = Cylinder.objects.get(pk=number).owner_id
    new = makers.make_customer("Nell Drake")
    links.change_owner(cylinder_id=number, owner_id=new.pk, at=AT, by=BY)
    links.change_owner(cylinder_id=number, owner_id=old, at=AT, by=BY)
    assert links.open_link(link.token, at=AT) is Ended.REVOKED
    assert links.revoke_all(cylinder_id=number, reason="again", at=AT, by=BY) == 0


def test_a_token_opens_its_own_cylinder_only() -> None:
    first, second = issued(), issued()
    opened = links.open_link(first.token, at=AT)
    assert isinstance(opened, StatusLink)
    assert opened.cylinder_id == first.link.cylinder_id != second.link.cylinder_id


def test_the_address_is_made_of_the_settings_alone() -> None:
    link = issued()
    assert link.address == f"http://127.0.0.1:8000/s/{link.token}"


@pytest.mark.parametrize(
    "changes",
    [
        {"revoked_at": AT},
        {"revoked_at": None, "expires_at": AT + 9_999 * SECOND},
    ],
)
def test_a_link_that_was_altered_without_an_event_is_found(changes: dict[str, object]) -> None:
    link = issued()
    assert list(links.problems()) == []
    StatusLink.objects.update(**changes)
    [problem] = links.problems()
    assert problem.startswith(f"link {link.link.pk}: stored as ")


def test_a_link_that_was_opened_again_or_taken_out_is_found() -> None:
    link = issued().link
    links.revoke(link_id=link.pk, reason="lost", at=AT, by=BY)
    assert list(links.problems()) == []
    StatusLink.objects.update(revoked_at=None)
    assert len(list(links.problems())) == 1
    StatusLink.objects.all().delete()
    [problem] = links.problems()
    assert "stored as None" in problem
