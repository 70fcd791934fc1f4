"""The whole job, from the counter to the counter, in a browser that runs no script."""

from collections.abc import Iterator

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from playwright.sync_api import Browser, Page

from api import keys
from api.demo import lab as partner
from api.demo import scenario
from cylinders.models import Cylinder, WorkOrder
from cylinders.queries import verification
from labels.models import Tag
from tests.browser import world
from tests.browser.phone import Phone, phone

pytestmark = pytest.mark.django_db(transaction=True)

STAMP = "DOT-3AL3000\nKX77001\nM9999\n6-08"
PASSWORD = "kelp and lantern"


@pytest.fixture
def plain(transactional_db: None, browser: Browser, base: str) -> Iterator[Phone]:
    """A browser without script, before the invented shop's bench, not signed in."""
    scenario.build(now=timezone.now())
    User.objects.filter(username="marlow").update(password=world.server_s_digest(PASSWORD))
    with phone(browser, base, None, java_script_enabled=False) as mine:
        yield mine


def press(page: Page, words: str) -> None:
    """Press the button with these words; nothing on the page that follows may be at fault."""
    page.get_by_role("button", name=words, exact=True).click()
    fault = page.locator(".wrong")
    assert fault.count() == 0, fault.all_inner_texts()


def test_the_whole_job(plain: Phone) -> None:
    page = plain.open("/bench/")
    sign_in(page)
    order = receive(plain)
    take_down(plain, order)
    to_the_lab_and_back(plain, order)
    inspect(plain, order)
    put_together(plain, order)
    fill_and_hand_over(plain, order)
    order.refresh_from_db()
    assert order.closed_at is not None
    assert verification.verify().problems == ()


def sign_in(page: Page) -> None:
    page.get_by_label("Username").fill("marlow")
    page.get_by_label("Password").fill(PASSWORD)
    press(page, "Sign in")


def receive(plain: Phone) -> WorkOrder:
    page = plain.page
    page.get_by_role("link", name="Receive", exact=True).click()
    page.get_by_label("Everything stamped on it").fill(STAMP)
    press(page, "Read the stamp")
    page.get_by_text("Set the markings right").click()
    page.get_by_label("Alloy").fill("6061-T6")
    page.get_by_label("Neck thread").fill("3/4-14 NPSM")
    page.get_by_label("Whose is it?").fill("Wren Tallow")
    press(page, "Receive it")
    press(page, "Print a tag for it")
    order: WorkOrder = Cylinder.objects.get(serial="KX77001").work_orders.get()
    assert order.cylinder_id
    return order


def take_down(plain: Phone, order: WorkOrder) -> None:
    page = scan(plain, tag_of(order))
    assert plain.path == f"/bench/orders/{order.pk}/teardown/", page.inner_text("main")
    page.get_by_label("The valve stands open").check()
    press(page, "It is empty")
    page.get_by_role("link", name="Valve", exact=True).click()
    page.get_by_label("3/4-14 NPSM", exact=True).check()
    page.get_by_label("Yoke", exact=True).check()
    press(page, "Record the valve")
    press(page, "Print its tag")
    plain.open(f"/bench/orders/{order.pk}/teardown/")
    page.get_by_label("Sound", exact=True).check()
    page.get_by_label("The travel plug is in").check()
    press(page, "The teardown is done")


def to_the_lab_and_back(plain: Phone, order: WorkOrder) -> None:
    lab = scenario.build(now=timezone.now()).lab
    page = plain.open(f"/bench/runs/to/{lab.pk}/")
    keys_and_page(plain, tag_of(order))
    assert page.locator("#told strong").inner_text() == "PACKED"
    page.get_by_label("Who carries it?").fill("Marlow, the van")
    press(page, "Hand it to the carrier")
    on = timezone.now().date()
    body = partner.record_of(order.cylinder, tag=tag_of(order), on=on, rin=lab.rin, number=1)
    key = keys.issue(lab_id=lab.pk, at=timezone.now()).text
    status, answer = partner.post_record(body, key=key, idempotency_key=f"browser-{tag_of(order)}")
    assert status == 201, answer
    page = plain.open("/bench/runs/in/")
    keys_and_page(plain, tag_of(order))
    assert page.locator("#told strong").inner_text() == "HOME"
    scan(plain, tag_of(order))
    rin = lab.rin
    page.get_by_role("textbox", name="stamp").last.fill(
        f"{on.month} {rin[:2]}/{rin[3]}{rin[2]} {on.year % 100}"
    )
    press(page, "Compare")


def inspect(plain: Phone, order: WorkOrder) -> None:
    page = scan(plain, tag_of(order))
    assert plain.path == f"/bench/orders/{order.pk}/inspection/"
    page.get_by_label("CGA C-6.1", exact=False).first.check()
    for name in ("internal", "external", "threads"):
        page.locator(f"input[name={name}][value=pass]").check()
    page.get_by_label("The old sticker is off").check()
    press(page, "Record the inspection")


def put_together(plain: Phone, order: WorkOrder) -> None:
    page = scan(plain, tag_of(order))
    assert plain.path == f"/bench/orders/{order.pk}/reassembly/"
    bag = Tag.objects.get(part__work_order=order)
    keys_and_page(plain, bag.url)
    assert page.locator("#told strong").inner_text() == "MATCH"
    press(page, "Nothing is missing: close the reassembly")


def fill_and_hand_over(plain: Phone, order: WorkOrder) -> None:
    page = scan(plain, tag_of(order))
    assert plain.path == f"/bench/orders/{order.pk}/fill/"
    page.get_by_label("Oxygen, as analysed").fill("20.9")
    page.get_by_label("Pressure", exact=False).last.fill("3000")
    page.get_by_label("psi", exact=True).check()
    press(page, "Record the fill")
    scan(plain, tag_of(order))
    press(page, "It is ready")
    page.get_by_label("The owner", exact=True).check()
    press(page, "Hand it over")


def scan(plain: Phone, text: str) -> Page:
    plain.open("/bench/")
    return keys_and_page(plain, text)


def keys_and_page(plain: Phone, text: str) -> Page:
    """What a hand scanner types, and the page that answers."""
    plain.page.locator("#scan:focus").wait_for()  # the browser gives it the focus by itself
    with plain.page.expect_navigation():
        plain.keystrokes(text)
    return plain.page


def tag_of(order: WorkOrder) -> str:
    return str(Tag.objects.get(cylinder=order.cylinder_id, kind="cylinder").code)
