import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import URLPattern, reverse

from api.pages import urls
from tests import makers
from tests.api.pages.bench.desk import Desk

OPEN = {"login", "logout", "t", "t-typed", None}
SAMPLE = {"pk": 1, "part": 1, "code": "7K2M9QX4WBTCK", "form": "png"}
STAFF_ONLY = [url for url in urls.urlpatterns if url.name not in OPEN]


def _address(url: URLPattern) -> str:
    wanted = {name: SAMPLE[name] for name in url.pattern.converters}
    return reverse(str(url.name), kwargs=wanted)


@pytest.mark.django_db
@pytest.mark.parametrize("url", STAFF_ONLY, ids=lambda url: str(url.name))
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
