"""The back office opens to owners alone, through the one door that counts wrong tries."""

import datetime as dt

import pytest
import time_machine
from django.contrib.auth.models import User
from django.test import Client

from tests import makers

pytestmark = pytest.mark.django_db
PAGE = "/admin/cylinders/lab/"


def signed_in(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


def test_an_owner_gets_in_and_a_technician_is_told_who_may() -> None:
    olga, tessa = signed_in(makers.make_owner()), signed_in(makers.make_technician())
    assert olga.get(PAGE).status_code == 200
    refused = tessa.get(PAGE, follow=True)
    assert refused.status_code == 403
    assert "Ask one of: olga" in refused.content.decode()


def test_a_technician_with_every_permission_is_still_none_of_the_owners() -> None:
    tessa = makers.make_technician()
    tessa.user_permissions.set(
        tessa.user_permissions.model.objects.filter(content_type__app_label="cylinders")
    )
    assert signed_in(tessa).get(PAGE, follow=True).status_code == 403


def test_it_has_no_door_of_its_own_where_guesses_are_not_counted() -> None:
    makers.make_owner()
    stranger = Client()
    sent = {"username": "olga", "password": "wet-gloves-7"}
    answer = stranger.post("/admin/login/?next=/admin/", sent)
    assert answer.headers["Location"] == "/bench/login/?next=/admin/"
    assert stranger.get(PAGE).status_code == 302
    assert "_auth_user_id" not in stranger.session


def test_a_phone_that_locked_itself_is_locked_here_too_until_one_signs_in_afresh() -> None:
    makers.make_owner()
    sent = {"username": "olga", "password": "wet-gloves-7", "next": PAGE}
    olga = Client()
    with time_machine.travel(makers.NOON, tick=False):
        assert olga.post("/bench/login/", sent).status_code == 302
        assert olga.get(PAGE).status_code == 200
    with time_machine.travel(makers.NOON + dt.timedelta(hours=2), tick=False):
        assert olga.get(PAGE, follow=True).redirect_chain[-1][0].startswith("/bench/login/")
        assert olga.post("/bench/login/", sent, follow=True).redirect_chain[-1][0] == PAGE
        assert olga.get("/bench/").status_code == 200
