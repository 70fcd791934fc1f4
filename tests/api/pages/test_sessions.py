"""A session begins afresh at the door, and ends with whoever it was made for."""

import pytest
from django.contrib.auth.models import User
from django.test import Client

from tests import makers

pytestmark = pytest.mark.django_db

LOGIN = "/bench/login/"
PASSWORD = "three knots and a bowline"


@pytest.fixture
def tessa() -> User:
    user = makers.make_technician("tessa")
    user.set_password(PASSWORD)
    user.save()
    return user


def signed_in(*, planted: str = "") -> Client:
    client = Client()
    if planted:
        client.cookies["session"] = planted
    answer = client.post(LOGIN, {"username": "tessa", "password": PASSWORD})
    assert answer.status_code == 302
    return client


def test_a_session_that_somebody_planted_is_not_the_one_after_the_door(tessa: User) -> None:
    planted = signed_in().cookies["session"].value
    mine = signed_in(planted=planted).cookies["session"].value
    assert mine != planted
    made_up = signed_in(planted="a" * 32).cookies["session"].value
    assert made_up != "a" * 32


def test_all_sessions_end_when_somebody_leaves(tessa: User) -> None:
    phones = [signed_in() for _ in range(3)]
    assert [phone.get("/bench/").status_code for phone in phones] == [200] * 3
    User.objects.filter(pk=tessa.pk).update(is_active=False)
    assert [phone.get("/bench/").status_code for phone in phones] == [302] * 3


def test_all_sessions_end_when_somebody_is_staff_no_more(tessa: User) -> None:
    phone = signed_in()
    User.objects.filter(pk=tessa.pk).update(is_staff=False)
    assert phone.get("/bench/").status_code in (302, 403)


def test_a_new_password_ends_the_sessions_of_the_old_one(tessa: User) -> None:
    phone = signed_in()
    tessa.set_password("another bowline")
    tessa.save()
    assert phone.get("/bench/").status_code == 302


def test_a_session_that_was_signed_out_is_dead_though_its_cookie_is_kept(tessa: User) -> None:
    phone = signed_in()
    kept = phone.cookies["session"].value
    assert phone.post("/bench/logout/").status_code == 302
    thief = Client()
    thief.cookies["session"] = kept
    assert thief.get("/bench/").status_code == 302
