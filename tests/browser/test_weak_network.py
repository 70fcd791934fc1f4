"""When the network drops, scans wait on the phone; none is green before the server judged it."""

import datetime as dt

import pytest
from django.contrib.auth.models import User
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.utils import timezone
from playwright.sync_api import Browser, Route, expect

from api.models import BenchPin
from cylinders import history
from cylinders.facts import Kind
from tests import makers
from tests.browser import axe, world
from tests.browser.phone import Phone, phone

pytestmark = pytest.mark.django_db(transaction=True)


def scan(hand: Phone, code: str) -> None:
    """Scan with a hand scanner on the camera's page."""
    hand.page.fill("#scan", code)
    hand.page.press("#scan", "Enter")


def fitted(job: world.Job) -> list[int]:
    """The parts that went on, in order."""
    entries = history.timeline(job.cylinder.pk)
    return [entry.facts["part"] for entry in entries if entry.kind == Kind.PART_FITTED]


def test_scans_wait_amber_and_are_sent_in_order(hand: Phone, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    page = hand.open(job.reassembly + "camera/")
    hand.context.set_offline(True)
    for code in (job.boot_bag.code, job.valve_bag.code):
        scan(hand, code)
        answer = hand.answer.locator(".answer")
        expect(answer.locator("strong")).to_have_text("NOT CHECKED")
        expect(answer).to_have_class("answer kept")
    unchecked = page.locator("#unchecked")
    expect(unchecked).to_contain_text("2 not checked. No network.")
    assert page.locator(".answer.ok, #work .word.ok").count() == 0
    assert axe.violations(page) == []
    hand.keep("camera not checked")
    assert fitted(job) == []
    hand.context.set_offline(False)  # the browser tells the page so itself
    expect(page.locator("#work")).to_contain_text("2 settled")
    expect(unchecked).to_be_hidden()
    assert fitted(job) == [job.boot.pk, job.valve.pk]


def test_a_scan_whose_answer_was_lost_is_not_acted_on_twice(hand: Phone, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    page = hand.open(job.reassembly + "camera/")

    def lose(route: Route) -> None:
        if route.request.method == "POST":
            route.fetch(max_redirects=0)  # the server does it, and nobody hears of it
            route.abort()
        else:
            route.continue_()

    page.route("**/camera/", lose)
    scan(hand, job.boot_bag.code)
    expect(hand.answer.locator("strong")).to_have_text("NOT CHECKED")
    assert fitted(job) == [job.boot.pk]
    page.unroute_all()
    page.reload()
    expect(hand.answer.locator("strong")).to_have_text("MATCH")
    assert fitted(job) == [job.boot.pk]
    kinds = [entry.kind for entry in history.timeline(job.cylinder.pk)]
    assert Kind.PART_REFUSED not in kinds


def test_a_kept_scan_is_refused_when_somebody_else_went_on(
    hand: Phone, browser: Browser, base: str, tessa: User
) -> None:
    job = world.job(tessa, serial="KX1")
    page = hand.open(job.reassembly + "camera/")
    hand.context.set_offline(True)
    scan(hand, job.boot_bag.code)
    expect(hand.answer.locator("strong")).to_have_text("NOT CHECKED")
    with phone(browser, base, makers.make_technician("bruno")) as second:
        second.open(job.reassembly)
        second.keystrokes(job.valve_bag.code)
        second.answer.locator(".answer").wait_for()
    hand.context.set_offline(False)
    unchecked = page.locator("#unchecked")
    expect(unchecked).to_contain_text("1 refused after all.")
    expect(unchecked).to_contain_text("Somebody has worked on this cylinder since")
    expect(hand.answer.locator(".answer.fail strong")).to_have_text("REFUSED")
    assert axe.violations(page) == []
    hand.keep("camera refused after all")
    assert fitted(job) == [job.valve.pk]
    page.reload()
    unchecked.get_by_role("button", name="Seen").click()
    expect(unchecked).to_be_hidden()


@pytest.mark.long
def test_kept_scans_of_one_person_are_not_sent_as_another_s(
    hand: Phone, base: str, tessa: User
) -> None:
    job = world.job(tessa, serial="KX1")
    page = hand.open(job.reassembly + "camera/")
    hand.context.set_offline(True)
    scan(hand, job.boot_bag.code)
    expect(hand.answer.locator("strong")).to_have_text("NOT CHECKED")
    hand.become(makers.make_technician("bruno"))
    hand.context.set_offline(False)
    page.reload()
    expect(page.locator("#unchecked")).to_contain_text("1 of somebody else")
    assert fitted(job) == []


def test_a_scan_on_a_locked_phone_waits_for_the_pin(hand: Phone, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    page = hand.open(job.reassembly + "camera/")
    digest = world.server_s_digest("4711")
    BenchPin.objects.create(user=tessa, digest=digest, set_at=timezone.now())
    for session in Session.objects.all():
        store = SessionStore(session.session_key)
        store["bench_seen"] = (timezone.now() - dt.timedelta(days=1)).isoformat()
        store.save()
    scan(hand, job.boot_bag.code)
    expect(hand.answer.locator("strong")).to_have_text("NOT CHECKED")
    expect(hand.answer).to_contain_text("the phone is locked")
    assert fitted(job) == []
    page.reload()
    page.get_by_label("Your PIN").fill("4711")
    page.get_by_role("button", name="Go on").click()
    expect(page.locator("#work")).to_contain_text("1 settled")
    assert fitted(job) == [job.boot.pk]


@pytest.mark.long
def test_a_browser_that_keeps_nothing_sends_the_plain_form(hand: Phone, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    hand.page.add_init_script("delete IDBFactory.prototype.open;")
    page = hand.open(job.reassembly + "camera/")
    for code, settled in ((job.boot_bag.code, "1 settled"), (job.valve_bag.code, "2 settled")):
        scan(hand, code)
        expect(page.locator("#work")).to_contain_text(settled)
        expect(hand.answer.locator("strong")).to_have_text("MATCH")
    assert fitted(job) == [job.boot.pk, job.valve.pk]
