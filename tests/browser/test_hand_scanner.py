"""A hand scanner is a keyboard: what it types goes to the one scan field of the page."""

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import expect

from tests.browser import axe, world
from tests.browser.phone import Phone

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.sampled(of=2)
def test_keystrokes_open_the_page_of_the_right_cylinder(both: Phone, tessa: User) -> None:
    world.arrived(tessa, serial="KX1")
    order, tag = world.arrived(tessa, serial="KX2")
    both.open("/bench/")
    both.keystrokes(tag.url)
    both.page.wait_for_url("**/teardown/**")
    assert both.path == f"/bench/orders/{order.pk}/teardown/"
    assert "KX2" in both.page.inner_text("main")


def test_keystrokes_are_not_lost_when_no_field_has_the_focus(hand: Phone, tessa: User) -> None:
    order, tag = world.arrived(tessa, serial="KX2")
    hand.open("/bench/due/")
    hand.page.evaluate("document.activeElement.blur()")
    hand.keystrokes(tag.code)
    hand.page.wait_for_url(f"**/bench/orders/{order.pk}/teardown/**")


def test_a_code_of_another_house_is_shown_and_not_followed(hand: Phone, tessa: User) -> None:
    hand.open("/bench/")
    hand.keystrokes("https://elsewhere.test/t/7K2M9QX4WBTCK")
    hand.page.wait_for_url("**/bench/scan/**")
    assert hand.page.inner_text("[role=status] strong") == "NOT OUR TAG"
    assert "https://elsewhere.test/t/7K2M9QX4WBTCK" in hand.page.inner_text("main pre")
    assert hand.page.locator("main a[href*='elsewhere']").count() == 0


def test_a_misread_code_is_refused_with_the_tag_it_may_be(hand: Phone, tessa: User) -> None:
    _order, tag = world.arrived(tessa, serial="KX2")
    misread = tag.code[:-1] + ("2" if tag.code[-1] != "2" else "3")
    hand.open("/bench/")
    hand.keystrokes(misread)
    hand.page.wait_for_url("**/bench/scan/**")
    assert hand.page.inner_text("[role=status] strong") == "MISREAD CODE"


@pytest.mark.sampled(of=2)
def test_a_typed_code_is_checked_while_it_is_typed(both: Phone, tessa: User) -> None:
    order, tag = world.arrived(tessa, serial="KX2")
    page = both.open("/bench/")
    verdict = page.locator(".scan output")
    page.fill("#scan", tag.code[:9])
    expect(verdict).to_be_empty()
    page.fill("#scan", f"{tag.code[:4]} {tag.code[4:8]} {tag.code[8:-1]}".lower() + "u")
    expect(verdict).to_have_text("misread")
    assert axe.violations(page) == []
    both.keep("typed misread")
    page.fill("#scan", f"{tag.code[:4]} {tag.code[4:8]} {tag.code[8:]}".lower())
    expect(verdict).to_have_text("checks")
    page.press("#scan", "Enter")
    page.wait_for_url(f"**/bench/orders/{order.pk}/teardown/**")
