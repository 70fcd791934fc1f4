import datetime as dt

import pytest
import time_machine

from api.models import BenchPin
from cylinders import history
from cylinders.facts import Kind
from cylinders.models import WorkOrder
from tests import makers
from tests.api.pages.bench.desk import Desk

PIN = "402918"
LATER = makers.NOON + dt.timedelta(minutes=31)


def _set_pin(desk: Desk, pin: str = PIN) -> Desk:
    return desk.open("/bench/me/").press("pin", pin=pin, password="wet-gloves-7")


def _teardown(desk: Desk) -> WorkOrder:
    order = makers.receive()
    desk.open(f"/bench/orders/{order.pk}/teardown/")
    return order


def test_half_an_hour_of_work_keeps_a_phone_open(desk: Desk) -> None:
    for minutes in (0, 29, 58, 87):
        with time_machine.travel(makers.NOON + dt.timedelta(minutes=minutes), tick=False):
            assert desk.open("/bench/").status == 200


def test_a_phone_that_lay_unused_asks_who_it_is_and_shows_nothing(desk: Desk) -> None:
    order = _teardown(desk)
    with time_machine.travel(LATER, tick=False):
        desk.open(f"/bench/orders/{order.pk}/teardown/")
    assert desk.status == 403
    assert "Are you still tessa?" in desk.text
    assert "KX40417" not in desk.text


@pytest.mark.parametrize("answer", [PIN, "wet-gloves-7"])
def test_pin_or_password_opens_it_at_the_same_page(desk: Desk, answer: str) -> None:
    _set_pin(desk)
    with time_machine.travel(LATER, tick=False):
        desk.open("/bench/due/?within=90")
        assert desk.status == 403
        desk.send(("/bench/due/?within=90", {"opens_with": answer}))
        assert desk.status == 200
        assert desk.path == "/bench/due/?within=90"


def test_what_was_filled_in_goes_on_once_the_phone_is_open(desk: Desk) -> None:
    _set_pin(desk)
    order = _teardown(desk)
    path, content = desk.filled("empty", drained="on", how="valve open")
    with time_machine.travel(LATER, tick=False):
        assert desk.send((path, content)).status == 403
        carried = {one.name: one.value for one in desk.forms[0].fields}
        assert carried["how"] == "valve open"
        order.refresh_from_db()
        assert not order.proven_empty
        desk.send((path, carried | {"opens_with": PIN}))
        assert "Proven empty" in desk.text
        desk.send((path, content))
    kinds = [entry.kind for entry in history.timeline(order.cylinder_id)]
    assert kinds.count(Kind.PROVEN_EMPTY) == 1, "the same form, with and without the PIN"


def test_a_wrong_pin_opens_nothing_and_five_sign_out(desk: Desk) -> None:
    _set_pin(desk)
    with time_machine.travel(LATER, tick=False):
        for _ in range(5):
            desk.send(("/bench/", {"opens_with": "000001"}))
            assert desk.status == 403
            assert "That is not the PIN" in desk.text
        desk.send(("/bench/", {"opens_with": PIN}))
        assert desk.path.startswith("/bench/login/")
        assert desk.open("/bench/").path.startswith("/bench/login/")


def test_another_person_s_pin_opens_nothing(desk: Desk) -> None:
    _set_pin(Desk("ida"), "771305")
    desk.open("/bench/")
    with time_machine.travel(LATER, tick=False):
        assert desk.send(("/bench/", {"opens_with": "771305"})).status == 403


@pytest.mark.parametrize("pin", ["", "12345", "123456", "987654", "777777", "4029a8", "٤٠٢٩١٨"])
def test_a_weak_pin_is_not_taken(desk: Desk, pin: str) -> None:
    assert _set_pin(desk, pin).status == 422
    assert not BenchPin.objects.exists()


def test_nobody_sets_a_pin_without_the_password(desk: Desk) -> None:
    desk.open("/bench/me/").press("pin", pin=PIN, password="guess")
    assert desk.status == 422
    assert "That is not your password" in desk.text
    assert not BenchPin.objects.exists()


def test_a_pin_is_kept_as_a_digest_and_can_be_changed(desk: Desk) -> None:
    _set_pin(desk)
    first = BenchPin.objects.get().digest
    assert PIN not in first
    _set_pin(desk, "771305")
    assert BenchPin.objects.get().digest != first


def test_no_answer_of_the_pin_form_holds_the_pin(desk: Desk) -> None:
    desk.open("/bench/me/").press("pin", pin=PIN, password="guess")
    assert PIN not in desk.response.content.decode()


@pytest.mark.parametrize("address", ["intake/reading/", "orders/1/fill/limits/"])
def test_fragments_are_locked_too(desk: Desk, address: str) -> None:
    _teardown(desk)
    with time_machine.travel(LATER, tick=False):
        assert desk.client.post(f"/bench/{address}", {"stamp": "3AL"}).status_code == 403
