import pytest
from django.test import Client

from cylinders.facts import Actor
from cylinders.models import WorkOrder
from labels.codes import ALPHABET, LOOK_ALIKES, is_code
from labels.models import Tag
from labels.operations import binding
from labels.operations.binding import Thing
from labels.operations.minting import mint
from tests import makers
from tests.api.pages.bench.desk import Desk

HOST = "CYL.EXAMPLE"
BY = Actor("staff", "1")


def _tag(thing: Thing) -> Tag:
    return binding.issue(thing=thing, host=HOST, at=makers.NOON, by=BY)


def _cylinder_tag(order: WorkOrder) -> Tag:
    return _tag(Thing.cylinder(order.cylinder))


@pytest.mark.parametrize("shape", ["{}", "{} ", "  {}", "https://cyl.example/t/{}"])
@pytest.mark.parametrize("lower", [True, False])
def test_a_cylinder_s_tag_opens_its_next_step(desk: Desk, shape: str, *, lower: bool) -> None:
    order = makers.receive()
    text = shape.format(_cylinder_tag(order).code)
    desk.open(f"/bench/scan/?code={text.lower() if lower else text.upper()}")
    assert desk.path == f"/bench/orders/{order.pk}/teardown/"


@pytest.mark.parametrize("start", ["/t/", "/T/"])
def test_the_tag_s_own_address_leads_staff_on(desk: Desk, start: str) -> None:
    order = makers.receive()
    tag = _cylinder_tag(order)
    spaced = f"{tag.code[:4]} {tag.code[4:8]} {tag.code[8:]}".lower().replace("0", "o")
    assert desk.open(start + spaced).path == f"/bench/orders/{order.pk}/teardown/"


def test_each_tag_of_a_visit_leads_to_the_same_next_step(desk: Desk) -> None:
    order = makers.receive(services=("visual",))
    valve, boot = makers.take_down(order)
    things = (Thing.bag(valve), Thing.bag(boot), Thing.teardown(order), Thing.kit(order))
    for thing in things:
        desk.open(f"/t/{_tag(thing).code}")
        assert desk.path == f"/bench/orders/{order.pk}/inspection/"


def test_without_an_open_visit_the_cylinder_s_page_answers(desk: Desk) -> None:
    order = makers.receive()
    tag = _cylinder_tag(order)
    WorkOrder.objects.update(closed_at=makers.NOON, stage="collected")
    assert desk.open(f"/t/{tag.code}").path == f"/bench/cylinders/{order.cylinder_id}/"
    assert "Receive it again" in desk.text


def test_a_blank_tag_offers_to_receive_a_cylinder_with_it(desk: Desk) -> None:
    [tag] = mint(count=1, host=HOST, at=makers.NOON)
    desk.open(f"/t/{tag.code}")
    assert desk.status == 200
    assert f"/bench/intake/?tag={tag.code}" in desk.response.content.decode()


def test_a_retired_tag_leads_staff_to_its_successor(desk: Desk) -> None:
    order = makers.receive()
    old = _cylinder_tag(order)
    new = binding.replace(code=old.code, host=HOST, reason="torn", at=makers.NOON, by=BY)
    newest = binding.replace(code=new.code, host=HOST, reason="lost", at=makers.NOON, by=BY)
    desk.open(f"/t/{old.code}")
    assert "RETIRED TAG" in desk.text
    assert "torn" in desk.text
    assert f'href="/t/{newest.code}"' in desk.response.content.decode()


def test_an_unknown_code_is_answered_with_help_and_a_box(desk: Desk) -> None:
    desk.open("/bench/scan/?code=7K2M9QX4WBTCK")
    assert desk.status == 404
    assert "UNKNOWN CODE" in desk.text
    assert any(form.action == "/bench/scan/" for form in desk.forms)


def test_a_misread_symbol_is_offered_and_never_completed(desk: Desk) -> None:
    order = makers.receive()
    tag = _cylinder_tag(order)
    place, other = next(
        (place, other)
        for place, symbol in enumerate(tag.code)
        for other in LOOK_ALIKES.get(symbol, "")
        if other in ALPHABET and symbol in LOOK_ALIKES.get(other, "")
    )
    misread = tag.code[:place] + other + tag.code[place + 1 :]
    assert not is_code(misread)
    desk.open(f"/bench/scan/?code={misread}")
    assert desk.status == 404
    assert "Did you mean" in desk.text
    assert f'href="/t/{tag.code}"' in desk.response.content.decode()


@pytest.mark.parametrize(
    "text",
    [
        "https://evil.example/t/7K2M9QX4WBTCK",
        "javascript:alert(1)",
        "<script>alert(1)</script>",
        "WIFI:S:shop;P:secret;;",
        "A" * 4000,
        "\u202etxt.exe",
        "7K2M\x009QX4",
    ],
)
def test_a_foreign_text_is_shown_escaped_and_never_followed(desk: Desk, text: str) -> None:
    answer = desk.client.get("/bench/scan/", {"code": text})
    page = answer.content.decode()
    assert answer.status_code == 404
    assert "alert(1)</script>" not in page
    assert 'href="https://evil' not in page
    assert 'href="javascript' not in page
    assert "\u202e" not in page


def test_an_empty_scan_asks_for_a_code(desk: Desk) -> None:
    assert desk.open("/bench/scan/?code=").status == 200
    assert "Type the 13 symbols" in desk.text


@pytest.mark.django_db
def test_a_stranger_sees_the_public_page_and_no_person() -> None:
    order = makers.receive(makers.make_customer("Odo Quill"))
    answer = Client().get(f"/t/{_cylinder_tag(order).code}")
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "Quill" not in page
    assert 'type="password"' not in page
    assert "/bench/" not in page


@pytest.mark.django_db
def test_a_stranger_with_an_unknown_code_is_helped() -> None:
    assert Client().get("/t/7K2M9QX4WBTCK").status_code == 404
    assert Client().get("/t/").status_code == 200
