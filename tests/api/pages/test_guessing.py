"""Guessing does not pay: passwords, tags, links. Source: OWASP ASVS 5.0.0, V6.3.1, V2.4.1, V6.3.8.

How often, for a name and for an address, is the house's own (:mod:`api.pages.lock_out`). The full
sizes run behind ``--long``.
"""

import secrets
from collections import Counter
from collections.abc import Iterator

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client

from api import links
from api.pages import lock_out
from labels import codes
from tests import makers
from tests.api.pages.status import cast

pytestmark = pytest.mark.django_db
LOGIN = "/bench/login/"
FEW, MANY = 20, 1_000
FEW_GUESSES, MANY_GUESSES = 100, 100_000
#: most tries in a quarter of an hour, for one name at one address and for one address
AT_MOST_OF_NAME, AT_MOST_FROM_ADDRESS = 10, 100


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    cache.clear()
    with time_machine.travel(makers.NOON, tick=False):
        yield


def try_it(password: str, name: str = "tessa", address: str = "192.0.2.7", **headers: str) -> int:
    client = Client(REMOTE_ADDR=address, headers=headers)
    return client.post(LOGIN, {"username": name, "password": password}).status_code


def one_name(times: int) -> None:
    makers.make_technician()
    got = Counter(try_it(f"guess {number}") for number in range(times))
    assert got == {200: lock_out.MOST_OF_NAME_HERE, 429: times - lock_out.MOST_OF_NAME_HERE}
    assert got[200] <= AT_MOST_OF_NAME
    assert try_it("wet-gloves-7", address="198.51.100.4") == 302, "she is let in elsewhere"


def many_names(times: int) -> None:
    got = Counter(try_it("Summer-2026", f"name{number}") for number in range(times))
    assert got == {200: lock_out.MOST_FROM_ADDRESS, 429: times - lock_out.MOST_FROM_ADDRESS}
    assert got[200] <= AT_MOST_FROM_ADDRESS


def test_wrong_passwords_for_one_name_come_to_an_end() -> None:
    one_name(FEW)


@pytest.mark.long
def test_a_thousand_wrong_passwords_for_one_name_come_to_an_end() -> None:
    one_name(MANY)


def test_one_password_for_many_names_comes_to_an_end() -> None:
    many_names(lock_out.MOST_FROM_ADDRESS + 5)


@pytest.mark.long
def test_one_password_for_a_thousand_names_comes_to_an_end() -> None:
    many_names(MANY)


@pytest.mark.parametrize(
    "header", ["x-forwarded-for", "x-real-ip", "forwarded", "x-client-ip", "true-client-ip"]
)
def test_a_forged_header_makes_nobody_another_address(header: str) -> None:
    makers.make_technician()
    got = [
        try_it(f"guess {number}", **{header: f"203.0.113.{number}"})
        for number in range(lock_out.MOST_OF_NAME_HERE + 1)
    ]
    assert got == [200] * lock_out.MOST_OF_NAME_HERE + [429]


def test_the_pin_of_a_locked_phone_is_guessed_as_slowly_as_a_password() -> None:
    tessa = makers.make_technician()
    client = Client()
    client.force_login(tessa)
    client.get("/bench/")
    with time_machine.travel(makers.NOON.replace(hour=14), tick=False):
        got = [
            client.post("/bench/", {"opens_with": f"{number:06}"}).status_code
            for number in range(FEW)
        ]
    assert got[:5] == [403] * 5
    assert set(got[5:]) == {302}, "the session is ended, and the door is shut"
    assert client.get("/bench/").status_code == 302


def test_an_unknown_name_and_a_wrong_password_look_alike() -> None:
    makers.make_technician()
    bodies = set()
    for name in ("tessa", "nobody"):
        answer = Client().post(LOGIN, {"username": name, "password": "guess"})
        page = answer.content.decode().replace(name, "NAME")
        bodies.add(len(page))
    assert max(bodies) - min(bodies) <= 2, "the token of the form differs, not the words"


def guess_links(times: int) -> None:
    cast.open_shop()
    order = cast.put_together()
    true = cast.link_to(order).token
    client = Client(REMOTE_ADDR="192.0.2.9")
    got, sizes = Counter[int](), set()
    for _ in range(times):
        token = "".join(secrets.choice(codes.ALPHABET.lower()) for _ in range(len(true)))
        answer = client.get(f"/s/{token}")
        got[answer.status_code] += 1
        sizes.add(len(answer.content))
    assert got.keys() <= {404, 429}
    assert got[404] <= 31
    assert max(sizes) <= 1.1 * min(sizes)
    assert client.get(f"/s/{true}").status_code == 200, "a true link opens for the same address"


def guess_tags(times: int) -> None:
    cast.open_shop()
    true = cast.tag_of(cast.put_together()).code
    client = Client(REMOTE_ADDR="192.0.2.9")
    got, sizes = Counter[int](), set()
    for _ in range(times):
        answer = client.get(f"/t/{codes.new_code()}")
        got[answer.status_code] += 1
        sizes.add(len(answer.content))
    assert got.keys() <= {404, 429}
    assert got[404] <= 31 * (1 + times // 1_000)
    assert max(sizes) <= 1.1 * min(sizes)
    assert client.get(f"/t/{true}").status_code == 200, "a true tag opens for the same address"


def test_a_household_is_one_address_whichever_of_its_own_it_takes() -> None:
    cast.open_shop()
    got = [
        Client(REMOTE_ADDR=f"2001:db8:1:2::{number:x}").get(f"/t/{codes.new_code()}").status_code
        for number in range(1, 33)
    ]
    assert got == [404] * 30 + [429] * 2
    neighbour = Client(REMOTE_ADDR="2001:db8:1:3::1")
    assert neighbour.get(f"/t/{codes.new_code()}").status_code == 404


def test_guessed_links_open_nothing_and_soon_get_no_answer() -> None:
    guess_links(FEW_GUESSES)


def test_guessed_tags_all_look_alike() -> None:
    guess_tags(FEW_GUESSES)


@pytest.mark.long
def test_a_hundred_thousand_guessed_links_open_nothing() -> None:
    guess_links(MANY_GUESSES)


@pytest.mark.long
def test_a_hundred_thousand_guessed_tags_all_look_alike() -> None:
    guess_tags(MANY_GUESSES)


def test_a_token_and_a_code_are_long_enough() -> None:
    assert links.TOKEN_BITS >= 128  # OWASP ASVS 5.0.0, V11.5.1
    assert len({codes.new_code() for _ in range(1_000)}) == 1_000
