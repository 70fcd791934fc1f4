import re

import pytest
from django.test import Client

from api.models import SentForm, StatusLink
from cylinders.models import WorkOrder
from tests import makers
from tests.api.pages.bench.desk import Desk


@pytest.fixture
def order(desk: Desk) -> WorkOrder:
    """A cylinder whose links are looked at."""
    order = makers.receive()
    desk.open(f"/bench/cylinders/{order.cylinder_id}/links/")
    return order


def _address(desk: Desk) -> str:
    found = re.search(r'class="code whole">https?://[^/]+(/[^<]+)<', desk.response.content.decode())
    assert found
    return found[1]


def test_a_link_is_shown_once_and_opens_the_story(desk: Desk, order: WorkOrder) -> None:
    address = _address(desk.press("make"))
    assert Client().get(address).status_code == 200
    desk.open(f"/bench/cylinders/{order.cylinder_id}/links/")
    assert "1 open" in desk.text
    assert address not in desk.response.content.decode()


def test_the_token_is_kept_nowhere(desk: Desk, order: WorkOrder) -> None:
    token = _address(desk.press("make")).rstrip("/").rpartition("/")[2]
    kept = [*map(str, SentForm.objects.values()), *map(str, StatusLink.objects.values())]
    assert len(kept) == 2
    assert not [row for row in kept if token in row]


def test_a_double_tap_makes_one_link_and_says_so(desk: Desk, order: WorkOrder) -> None:
    filled = desk.filled("make")
    desk.send(filled)
    assert "made already, and shown once" in desk.send(filled).text
    assert StatusLink.objects.count() == 1


def test_one_link_is_ended_and_the_others_go_on(desk: Desk, order: WorkOrder) -> None:
    first, second = _address(desk.press("make")), _address(desk.press("make"))
    link = StatusLink.objects.order_by("pk")[0]
    here = f"/bench/cylinders/{order.cylinder_id}/links/"
    desk.send((here, {"do": "end", "link": str(link.pk), "reason": "lost phone"}))
    assert Client().get(first).status_code == 410
    assert Client().get(second).status_code == 200


def test_a_link_is_not_ended_without_a_reason_nor_from_another_cylinder(
    desk: Desk, order: WorkOrder
) -> None:
    desk.press("make")
    link = str(StatusLink.objects.get().pk)
    here = f"/bench/cylinders/{order.cylinder_id}/links/"
    assert desk.send((here, {"do": "end", "link": link})).status == 422
    other = makers.receive(serial="ZZ1")
    there = f"/bench/cylinders/{other.cylinder_id}/links/"
    assert desk.send((there, {"do": "end", "link": link, "reason": "x"})).status == 404
    assert StatusLink.objects.get().revoked_at is None


def test_a_new_owner_ends_the_old_one_s_links(desk: Desk, order: WorkOrder) -> None:
    address = _address(desk.press("make"))
    mara = makers.make_customer("Mara Finch")
    desk.open(f"/bench/cylinders/{order.cylinder_id}/").press("owner", owner=str(mara.pk))
    assert Client().get(address).status_code == 410
