"""One customer's page for the shop, and the rows that say who looked."""

import json
from collections.abc import Iterator

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client

from cylinders.models import Customer, PersonLog
from tests import makers
from tests.api.pages.status.cast import CANARY, canary, open_shop
from tests.cylinders.operations.reminders.cast import at_home

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def bench(client: Client) -> Iterator[None]:
    cache.clear()
    open_shop()
    client.force_login(makers.owner_one())
    with time_machine.travel(makers.NOON, tick=False):
        yield


def press(client: Client, customer: Customer, do: str, /, **fields: str) -> tuple[int, str]:
    form = {"do": do, "once": f"{do}-abcdefgh-{len(fields)}", **fields}
    response = client.post(f"/bench/customers/{customer.pk}/", form, follow=True)
    return response.status_code, " ".join(response.content.decode().split())


def test_each_page_that_names_a_customer_leaves_one_row_and_a_reload_leaves_none(
    client: Client,
) -> None:
    owner = canary()
    order = makers.receive(owner)
    pages = [f"/bench/cylinders/{order.cylinder_id}/", f"/bench/orders/{order.pk}/teardown/"]
    for path in (*pages, f"/bench/customers/{owner.pk}/"):
        cache.clear()
        for _ in range(3):
            assert client.get(path).status_code == 200
    looks = list(PersonLog.objects.order_by("pk").values_list("customer", "by", "where"))
    assert looks == [
        (owner.pk, "staff:1", "cylinder"),
        (owner.pk, "staff:1", "teardown"),
        (owner.pk, "staff:1", "person"),
    ]


def test_strangers_leave_no_row_and_see_nothing() -> None:
    owner = canary()
    order = makers.receive(owner)
    stranger = Client()
    for path in (
        f"/bench/customers/{owner.pk}/",
        f"/bench/customers/{owner.pk}/everything.json",
        f"/bench/cylinders/{order.cylinder_id}/",
    ):
        assert stranger.get(path).status_code == 302
    assert not PersonLog.objects.exists()


def test_everything_is_handed_out_as_a_file_and_that_is_noted(client: Client) -> None:
    owner = canary()
    at_home(owner)
    response = client.get(f"/bench/customers/{owner.pk}/everything.json")
    assert response.headers["Content-Disposition"].startswith("attachment")
    assert json.loads(response.content)["person"]["name"] == CANARY.name
    kinds = set(PersonLog.objects.values_list("kind", flat=True))
    assert kinds == {"exported", "looked"}
    assert client.get("/bench/customers/999999/everything.json").status_code == 404


def test_name_address_and_consent_are_kept_up_to_date(client: Client) -> None:
    owner = canary()
    press(client, owner, "address", name="Quillon C.", email="new@example.org", phone="555-0178")
    press(client, owner, "refuse", wording="called, wants no more")
    owner.refresh_from_db()
    assert (owner.name, owner.email, owner.email_consent) == (
        "Quillon C.",
        "new@example.org",
        False,
    )
    status, text = press(client, owner, "address", name="", email="not an address", phone="")
    assert status == 422
    assert "Not recorded yet" in text
    owner.refresh_from_db()
    assert owner.email == "new@example.org"


def test_forgetting_asks_twice_and_says_what_stays(client: Client) -> None:
    owner = canary()
    at_home(owner)
    status, _text = press(client, owner, "erase", reason="by letter")
    assert status == 422
    status, text = press(client, owner, "erase", reason="by letter", sure="on")
    assert "This person is forgotten" in text
    assert CANARY.name not in text
    owner.refresh_from_db()
    assert owner.erased_at is not None


def test_who_has_a_cylinder_here_is_not_forgotten_and_it_says_why(client: Client) -> None:
    owner = canary()
    makers.receive(owner)
    status, text = press(client, owner, "erase", reason="by letter", sure="on")
    assert status == 409
    assert "Hand it over first" in text
