"""The customer's side in a real browser: no barrier, no foreign address, no leaking link."""

from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.conf import settings
from playwright.sync_api import Browser, Request

from api import certificates, declining, links
from cylinders.models import Cylinder, MessageKind, Notice, TestRecord
from cylinders.operations.reminders import plan
from labels.operations import binding
from labels.operations.binding import Thing
from tests.browser.everything import Shop
from tests.browser.looking import BY_DAY_OR_ALL, Looks, look
from tests.browser.phone import phone

pytestmark = pytest.mark.django_db(transaction=True)


def customers(shop: Shop) -> dict[str, str]:
    """Every page of a customer and of a stranger, in the states that look different."""
    by, at = shop.job.world.by, shop.job.now
    pages = {"verify": "/verify", "ended": f"/s/{'q' * 32}"}
    for cylinder in Cylinder.objects.order_by("pk"):
        name = f"{cylinder.pk} {cylinder.life}"
        token = links.issue(cylinder_id=cylinder.pk, at=at, by=by).token
        tag = binding.issue(thing=Thing.cylinder(cylinder), host=settings.TAG_HOST, at=at, by=by)
        pages |= {f"status {name}": f"/s/{token}", f"public {name}": f"/t/{tag.code}"}
    record = TestRecord.objects.get()
    token = links.issue(cylinder_id=record.cylinder_id, at=at, by=by).token
    pages["certificate"] = f"/s/{token}/certificates/{record.pk}"
    stop = declining.address_of(customer_id=shop.job.world.owner.pk, kind=MessageKind.REMINDERS)
    pages["found"] = f"/found/{shop.job.tag.code}"
    pages["decline"] = urlsplit(stop).path
    return pages


@pytest.mark.parametrize("looks", BY_DAY_OR_ALL)
def test_no_page_of_the_customers_side_has_a_violation(
    transactional_db: None, browser: Browser, base: str, tmp_path: Path, looks: Looks
) -> None:
    shop = Shop.build(str(tmp_path))
    plan(on=shop.job.now.date())
    row = Notice.objects.earliest("pk")
    staff_pages = {
        "messages": "/bench/messages/?ahead",
        "preview": f"/bench/messages/{row.pk}/",
        "person": f"/bench/customers/{row.customer_id}/",
    }
    with phone(browser, base, shop.user) as staff, phone(browser, base, None) as stranger:
        found = look(stranger, customers(shop), looks) + look(staff, staff_pages, looks)
    assert not found, "\n".join(found)


def test_the_owners_page_asks_nobody_else_and_tells_nobody_its_address(
    transactional_db: None, browser: Browser, base: str, tmp_path: Path
) -> None:
    shop = Shop.build(str(tmp_path))
    path = urlsplit(shop.job.status_address).path
    asked: list[Request] = []
    with phone(browser, base, None) as stranger:
        stranger.page.on("request", lambda request: asked.append(request))  # noqa: PLW0108 - a bound built-in is refused
        page = stranger.open(path)
        page.get_by_role("link", name="Signed certificate").click()
        page.get_by_text("The certificate as text").click()
        page.get_by_role("link", name="Check it").click(no_wait_after=True)
        page.wait_for_timeout(300)
    assert len(asked) >= 4
    assert {urlsplit(request.url).hostname for request in asked} == {urlsplit(base).hostname}
    token = path.split("/")[2]
    for request in asked:
        assert token not in request.headers.get("referer", "")


def test_a_certificate_is_checked_in_the_browser_without_asking_the_shop(
    transactional_db: None, browser: Browser, base: str, tmp_path: Path
) -> None:
    Shop.build(str(tmp_path))
    signed = certificates.sign(TestRecord.objects.get(), at=TestRecord.objects.get().received_at)
    head, body, signature = signed.split(".")
    forged = f"{head}.{body[:-8]}AAAAAAAA.{signature}"
    with phone(browser, base, None) as stranger:
        page = stranger.open(f"/verify#{signed}")
        page.get_by_text("Checked in this browser").wait_for()
        assert "KX60000" in page.locator("#facts").inner_text()
        # Else the browser itself notes that it could not fetch what it keeps for later.
        page.locator("html[data-kept=yes]").wait_for(state="attached")
        page.context.set_offline(True)
        page.fill("#certificate", forged)
        page.get_by_role("button", name="Check it").click()
        page.get_by_text("NOT GENUINE").wait_for()
        assert not page.locator("#facts").is_visible()
        page.fill("#certificate", f"{base}/VERIFY#{signed}")
        page.get_by_role("button", name="Check it").click()
        page.get_by_text("Checked in this browser").wait_for()
        page.context.set_offline(False)


@pytest.mark.long
def test_the_page_that_checks_opens_again_where_there_is_no_network(
    transactional_db: None, browser: Browser, base: str, tmp_path: Path
) -> None:
    Shop.build(str(tmp_path))
    signed = certificates.sign(TestRecord.objects.get(), at=TestRecord.objects.get().received_at)
    with phone(browser, base, None) as stranger:
        page = stranger.open("/verify")
        page.locator("html[data-kept=yes]").wait_for(state="attached")
        page.context.set_offline(True)
        for path in ("/verify", "/VERIFY"):  # as typed, and as the symbol on the paper has it
            page.goto("about:blank")
            page.goto(f"{base}{path}#{signed}")
            page.get_by_text("Checked in this browser").wait_for()
            assert "KX60000" in page.locator("#facts").inner_text()
        assert page.evaluate("caches.keys().then((names) => names.length)") == 1
        page.context.set_offline(False)
