"""Every page and state, looked over by axe-core against WCAG 2.2 AA, measured and weighed."""

from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.contrib.auth.models import User
from django.urls import resolve
from playwright.sync_api import Browser

from api.pages.lab.urls import urlpatterns as labs
from api.pages.scanner.urls import urlpatterns as cameras
from api.pages.urls import urlpatterns
from tests import makers
from tests.browser import axe, world
from tests.browser.everything import Shop
from tests.browser.looking import BY_DAY_OR_ALL, Looks, look
from tests.browser.phone import Phone, phone

pytestmark = pytest.mark.django_db(transaction=True)
#: what is no page: files, parts of pages, and addresses that only lead on to one
NO_PAGES = {
    *("tag-picture", "condemned-tag", "manifest", "contents", "label-run-print", "file"),
    *("lab-log-file", "cylinder-tests", "recall-file", "recall-letter"),
    *("lab-day-file", "lab-record-file", "lab-file-model", "lab-file-to-mend"),
    *("reading", "limits", "order", "logout", "lab-sign-out", "lab-paper", None),
}


@pytest.mark.parametrize("looks", BY_DAY_OR_ALL)
def test_no_page_is_at_fault(
    transactional_db: None, browser: Browser, base: str, tmp_path: Path, looks: Looks
) -> None:
    shop = Shop.build(str(tmp_path))
    with phone(browser, base, shop.user) as staff, phone(browser, base, None) as stranger:
        found = look(staff, shop.bench(), looks) + look(stranger, shop.strangers(), looks)
        staff.become(User.objects.get(is_superuser=True))
        found += look(staff, shop.owner(), looks)
        sign_in(stranger, shop)
        found += look(stranger, shop.lab(), looks)
    assert not found, "\n".join(found)
    opened = {resolve(urlsplit(path).path).url_name for path in shop.every_path()}
    named = {pattern.name for pattern in [*urlpatterns, *cameras, *labs]}
    missed = named - opened - NO_PAGES
    assert not missed, f"pages that nobody looked at: {missed}"


def sign_in(lab: Phone, shop: Shop) -> None:
    page = lab.open("/lab/sign-in/")
    page.get_by_label("Your lab's key").fill(shop.job.key)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/lab/")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.sampled(of=2)
def test_no_answer_to_a_scan_has_a_violation(
    scheme: str, browser: Browser, base: str, tessa: User
) -> None:
    job, other = world.job(tessa, serial="KX1"), world.job(tessa, serial="QQ7")
    found = []
    with phone(browser, base, tessa, color_scheme=scheme) as hand:
        bag, strange = job.boot_bag.code, other.valve_bag.code
        for text in (bag, bag, strange, "7K2M9QX4WBTCK", job.tag.code):
            page = hand.open(job.reassembly)
            page.fill("#scan", text)
            page.press("#scan", "Enter")
            hand.answer.locator(".answer").wait_for()
            found += axe.violations(page)
            word = hand.answer.locator("strong").inner_text()
            hand.keep(f"{scheme} answer {word.lower()}")
    assert not found, "\n".join(found)


def test_no_form_with_faults_has_a_violation(hand: Phone, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    order, _tag = world.arrived(tessa, serial="KX2")
    found = []
    for path, button in (
        (f"/bench/orders/{order.pk}/teardown/", "It is empty"),
        (f"/bench/orders/{job.order.pk}/parts/{job.valve.pk}/service/", "It is serviced"),
        (f"/bench/orders/{job.order.pk}/reassembly/?account={job.boot.pk}", "I answer for it"),
        (f"/bench/intake/?stamp={makers.STAMP.replace(chr(10), '%0A')}", "Receive it"),
    ):
        page = hand.open(path)
        page.get_by_role("button", name=button).click()
        page.locator(".wrong").first.wait_for()
        found += [f"{path}: {one}" for one in axe.violations(page)]
        hand.keep(f"faults {button.lower()}")
    assert not found, "\n".join(found)
