import pytest
from django.template.loader import render_to_string
from django.test import Client

from api.models import SentForm
from tests import makers
from tests.api.pages.bench.desk import Desk


@pytest.mark.django_db
@pytest.mark.parametrize("address", ["/nothing", "/bench/nothing/", "/bench/orders/x/"])
def test_a_stranger_is_told_what_to_do_and_where_staff_is_not_named(address: str) -> None:
    answer = Client().get(address)
    page = answer.content.decode()
    assert answer.status_code == 404
    assert "There is nothing at this address" in page
    assert 'href="/t/"' in page
    assert "/bench/" not in page


@pytest.mark.django_db
def test_staff_are_led_back_to_the_board() -> None:
    assert 'href="/bench/"' in Desk().open("/bench/orders/99/").response.content.decode()


@pytest.mark.django_db
def test_a_page_that_is_too_old_is_not_taken_and_says_so() -> None:
    makers.make_technician()
    strict = Client(enforce_csrf_checks=True)
    answer = strict.post("/bench/login/", {"username": "tessa", "password": "wet-gloves-7"})
    assert answer.status_code == 403
    assert "load the page again" in answer.content.decode()


@pytest.mark.django_db
def test_a_fault_of_the_service_stores_nothing_and_tells_no_detail(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    desk = Desk()
    desk.client.raise_request_exception = False
    order = makers.receive()
    desk.open(f"/bench/orders/{order.pk}/teardown/")

    def broken(**_given: object) -> None:
        raise RuntimeError("a secret of the machine room")

    monkeypatch.setattr("api.pages.bench.teardown.teardown.prove_empty", broken)
    desk.press("empty", drained="on")
    assert desk.status == 500
    assert "Something broke here" in desk.text
    assert "machine room" not in desk.text
    assert not SentForm.objects.exists()


def test_the_page_of_a_fault_needs_nothing_that_may_be_broken() -> None:
    assert "Something broke here" in render_to_string("500.html")
