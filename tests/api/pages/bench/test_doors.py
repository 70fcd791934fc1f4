import datetime as dt

import pytest
import time_machine
from django.contrib.auth.models import User
from django.test import Client
from django.urls import URLPattern, reverse

from api.models import FailedSignIn
from api.pages import urls
from tests import makers
from tests.api.pages.bench.desk import Desk

OPEN = {"login", "logout"}
SAMPLE = {"pk": 1, "part": 1, "code": "7K2M9QX4WBTCK", "form": "png"} | {
    "lab": 1,
    "customer": 1,
    "day": "2026-11-20",
}
STAFF_ONLY = [url for url in urls.urlpatterns if url.name not in OPEN]


def _address(url: URLPattern) -> str:
    wanted = {name: SAMPLE[name] for name in url.pattern.converters}
    return reverse(str(url.name), kwargs=wanted)


@pytest.mark.django_db
@pytest.mark.parametrize("url", STAFF_ONLY, ids=lambda url: str(url.name))
@pytest.mark.sampled(of=5)
def test_a_stranger_is_asked_to_sign_in_and_a_customer_is_sent_away(url: URLPattern) -> None:
    address = _address(url)
    answer = Client().get(address)
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/bench/login/?next=")
    assert Client().post(address).status_code == 302
    known = Client()
    known.force_login(User.objects.create_user("odo"))
    assert known.get(address).status_code == 403
    assert known.post(address).status_code == 403


def test_all_pages_but_the_door_and_the_tags_are_for_staff() -> None:
    assert {url.name for url in urls.urlpatterns if url not in STAFF_ONLY} == OPEN
    assert len(STAFF_ONLY) > 25


@pytest.mark.django_db
def test_staff_sign_in_and_land_where_they_wanted_to_go() -> None:
    makers.make_technician()
    sent = {"username": "tessa", "password": "wet-gloves-7", "next": "/bench/due/"}
    answer = Client().post("/bench/login/", sent)
    assert answer.headers["Location"] == "/bench/due/"


@pytest.mark.django_db
@pytest.mark.parametrize("goal", ["https://evil.example/", "//evil.example", "javascript:1"])
def test_signing_in_leads_to_no_other_site(goal: str) -> None:
    makers.make_technician()
    sent = {"username": "tessa", "password": "wet-gloves-7", "next": goal}
    assert Client().post("/bench/login/", sent).headers["Location"] == "/bench/"


@pytest.mark.django_db
def test_who_is_not_staff_is_refused_like_a_wrong_password() -> None:
    User.objects.create_user("odo", password="wet-gloves-7")
    right = Client().post("/bench/login/", {"username": "odo", "password": "wet-gloves-7"})
    wrong = Client().post("/bench/login/", {"username": "odo", "password": "dry-gloves-7"})
    assert right.status_code == wrong.status_code == 200
    told = "Please enter a correct username and password"
    assert told in right.content.decode()
    assert told in wrong.content.decode()


def test_signing_out_needs_a_post_and_ends_the_session(desk: Desk) -> None:
    assert desk.client.get("/bench/logout/").status_code == 405
    desk.client.post("/bench/logout/")
    assert desk.client.get("/bench/").status_code == 302


def test_a_post_without_the_page_s_token_is_refused(desk: Desk) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(desk.user)
    order = makers.receive()
    answer = strict.post(f"/bench/orders/{order.pk}/teardown/", {"do": "empty", "drained": "on"})
    assert answer.status_code == 403
    order.refresh_from_db()
    assert not order.proven_empty


def test_a_button_that_is_not_on_the_page_is_refused(desk: Desk) -> None:
    order = makers.receive()
    assert desk.send((f"/bench/orders/{order.pk}/teardown/", {"do": "condemn"})).status == 422
    assert "not on this page" in desk.text


@pytest.mark.parametrize(
    "address",
    ["orders/99/", "orders/99/teardown/", "cylinders/99/", "records/99/", "runs/99/", "tags/X/"],
)
def test_what_is_not_there_is_not_found(desk: Desk, address: str) -> None:
    assert desk.open(f"/bench/{address}").status == 404


def _try(password: str, name: str = "tessa", address: str = "192.0.2.7") -> int:
    sent = {"username": name, "password": password}
    return int(Client(REMOTE_ADDR=address).post("/bench/login/", sent).status_code)


@pytest.mark.django_db
def test_the_sixth_guess_finds_the_door_shut_even_when_it_is_right() -> None:
    makers.make_technician()
    assert [_try(f"guess {number}") for number in range(5)] == [200] * 5
    assert _try("wet-gloves-7") == 429
    assert _try("wet-gloves-7", "TESSA ") == 429, "the same name in another spelling"
    assert _try("wet-gloves-7", address="192.0.2.8") == 302, "from elsewhere she gets in"


@pytest.mark.django_db
def test_the_door_opens_again_after_a_quarter_of_an_hour() -> None:
    makers.make_technician()
    for number in range(5):
        _try(f"guess {number}")
    with time_machine.travel(makers.NOON + dt.timedelta(minutes=14, seconds=59), tick=False):
        assert _try("wet-gloves-7") == 429
    with time_machine.travel(makers.NOON + dt.timedelta(minutes=15), tick=False):
        assert _try("wet-gloves-7") == 302


@pytest.mark.django_db
def test_a_right_password_clears_the_slips_before_it() -> None:
    makers.make_technician()
    for _ in range(3):
        assert [_try("slip") for _ in range(4)] == [200] * 4
        assert _try("wet-gloves-7") == 302


@pytest.mark.django_db
def test_guesses_from_many_addresses_shut_the_name_and_many_names_shut_the_address() -> None:
    makers.make_technician()
    for number in range(20):
        assert _try("guess", address=f"198.51.100.{number}") == 200
    assert _try("wet-gloves-7", address="203.0.113.1") == 429
    for number in range(40):
        assert _try("guess", f"name{number}", "203.0.113.9") == 200
    assert _try("guess", "somebody else", "203.0.113.9") == 429


@pytest.mark.django_db
def test_a_shut_door_and_the_count_tell_no_name() -> None:
    makers.make_technician()
    for number in range(5):
        _try(f"guess {number}")
        _try(f"guess {number}", "nobody")
    known = Client(REMOTE_ADDR="192.0.2.7").post("/bench/login/", {"username": "tessa"})
    unknown = Client(REMOTE_ADDR="192.0.2.7").post("/bench/login/", {"username": "nobody"})
    assert known.status_code == unknown.status_code == 429
    assert known.headers["Retry-After"] == "900"
    assert "quarter of an hour" in known.content.decode()
    assert not [row for row in FailedSignIn.objects.values_list("name", flat=True) if "tess" in row]
