"""No more messages with one tap, by POST alone (RFC 8058)."""

import pytest
from django.core.cache import cache
from django.test import Client

from api import declining
from api.logs import masked
from cylinders.models import Declined, MessageKind
from tests import makers
from tests.api.pages.status.cast import canary

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def fresh() -> None:
    cache.clear()


def path_for(customer_id: int, kind: MessageKind = MessageKind.REMINDERS) -> str:
    address = declining.address_of(customer_id=customer_id, kind=kind)
    assert address.startswith("http://127.0.0.1:8000/u/")
    return address.removeprefix("http://127.0.0.1:8000")


def test_the_mail_programs_own_post_declines_without_cookie_or_login() -> None:
    customer = makers.make_customer()
    strict = Client(enforce_csrf_checks=True)
    body = "List-Unsubscribe=One-Click"
    answer = strict.post(
        path_for(customer.pk), body, content_type="application/x-www-form-urlencoded"
    )
    assert answer.status_code == 200
    assert Declined.objects.get().customer == customer
    assert strict.post(path_for(customer.pk)).status_code == 200
    assert Declined.objects.count() == 1


def test_looking_declines_nothing(client: Client) -> None:
    customer = makers.make_customer()
    for _ in range(5):
        assert client.get(path_for(customer.pk)).status_code == 200
        client.head(path_for(customer.pk))
    assert client.options(path_for(customer.pk)).status_code == 405
    assert not Declined.objects.exists()


def test_each_kind_is_declined_alone_and_can_be_taken_back(client: Client) -> None:
    customer = makers.make_customer()
    client.post(path_for(customer.pk, MessageKind.REMINDERS))
    client.post(path_for(customer.pk, MessageKind.VISIT))
    assert Declined.objects.count() == 2
    client.post(path_for(customer.pk, MessageKind.VISIT), {"again": "1"})
    assert [row.kind for row in Declined.objects.all()] == ["reminders"]


def test_a_changed_address_declines_nothing(client: Client) -> None:
    first, second = makers.make_customer(), makers.make_customer("Nell Drake")
    path = path_for(first.pk)
    signature, value = path.split("/")[2:]
    other = value.replace(str(first.pk), str(second.pk), 1)
    tries = [f"/u/{signature}/{other}", f"/u/{signature[:-1]}x/{value}", f"/u/x/{value}"]
    tries += [f"/u/{signature}/{value}x", f"/u/{'a' * 500}/{value}", f"/u/{signature}/{'1' * 500}"]
    for wrong in tries:
        assert client.post(wrong).status_code == 404
    assert not Declined.objects.exists()


def test_the_page_names_nobody_and_the_logs_hold_no_signature(client: Client) -> None:
    customer = canary()
    path = path_for(customer.pk)
    response = client.get(path)
    for secret in (customer.name, customer.email, customer.phone):
        assert secret not in response.content.decode()
    assert response.headers["Referrer-Policy"] == "no-referrer"
    assert path.split("/")[2] not in masked(f"GET {path}")
