"""At the cylinder each bag is scanned: the right one fits, every other one is refused by name."""

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Browser

from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Whereabouts
from tests import makers
from tests.browser import world
from tests.browser.phone import LISTEN, Phone, phone

pytestmark = pytest.mark.django_db(transaction=True)


def fit(hand: Phone, job: world.Job, text: str) -> tuple[str, str]:
    """Scan ``text`` at the cylinder of ``job``; returns the large word and the sentences."""
    hand.open(job.reassembly)
    hand.keystrokes(text)
    answer = hand.answer.locator(".answer")
    answer.wait_for()
    return answer.locator("strong").inner_text(), answer.inner_text()


@pytest.mark.sampled(of=2)
def test_the_right_bag_fits(both: Phone, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    word, says = fit(both, job, job.boot_bag.url)
    assert word == "MATCH"
    assert "black boot" in says
    assert "1 still missing" in both.page.inner_text("main")
    job.boot.refresh_from_db()
    assert job.boot.whereabouts == Whereabouts.FITTED


@pytest.mark.sampled(of=2)
def test_the_bag_of_another_cylinder_is_refused_and_its_own_is_named(
    both: Phone, tessa: User
) -> None:
    job, other = world.job(tessa, serial="KX1"), world.job(tessa, serial="QQ7")
    word, says = fit(both, job, other.valve_bag.code)
    assert word == "WRONG CYLINDER"
    assert "QQ7" in says
    other.valve.refresh_from_db()
    assert other.valve.whereabouts == Whereabouts.BAGGED
    assert history.timeline(job.cylinder.pk)[-1].kind == Kind.PART_REFUSED


def test_an_unknown_bag_is_refused(hand: Phone, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    word, says = fit(hand, job, "7K2M9QX4WBTCK")
    assert word == "UNKNOWN"
    assert "2 still missing" in hand.page.inner_text("main")
    assert says


def test_a_bag_that_is_on_already_is_refused_with_who_and_when(hand: Phone, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    fit(hand, job, job.boot_bag.code)
    word, says = fit(hand, job, job.boot_bag.code)
    assert word == "ALREADY FITTED"
    assert "Fitted by tessa on 20" in says


def test_of_two_browsers_on_one_bag_one_wins_and_the_other_is_told_who_and_when(
    hand: Phone, browser: Browser, base: str, tessa: User
) -> None:
    job = world.job(tessa, serial="KX1")
    with phone(browser, base, makers.make_technician("bruno")) as second:
        hand.open(job.reassembly)
        second.open(job.reassembly)
        for mine in (hand, second):  # both have typed before either sends
            mine.page.fill("#scan", job.boot_bag.url)
        for mine in (hand, second):
            mine.page.press("#scan", "Enter", no_wait_after=True)
        for mine in (hand, second):
            mine.answer.locator(".answer").wait_for()
        told = {
            "tessa": hand.answer.inner_text(),
            "bruno": second.answer.inner_text(),
        }
    winner = next(name for name, says in told.items() if says.startswith("MATCH"))
    loser = "bruno" if winner == "tessa" else "tessa"
    assert told[loser].startswith("ALREADY FITTED")
    assert f"Fitted by {winner} on 20" in told[loser]
    kinds = [entry.kind for entry in history.timeline(job.cylinder.pk)]
    assert kinds.count(Kind.PART_FITTED) == 1


@pytest.mark.long
def test_reloading_the_answer_fits_nothing_twice(hand: Phone, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    fit(hand, job, job.boot_bag.code)
    events = len(history.timeline(job.cylinder.pk))
    hand.page.reload()
    hand.page.go_back()
    assert len(history.timeline(job.cylinder.pk)) == events


@pytest.mark.long
def test_a_hand_scanner_s_answer_is_heard_once(hand: Phone, tessa: User) -> None:
    job, other = world.job(tessa, serial="KX1"), world.job(tessa, serial="QQ7")
    hand.page.add_init_script(LISTEN)
    heard = []
    for code in (job.boot_bag.code, other.boot_bag.code):
        fit(hand, job, code)
        hand.page.wait_for_function("() => heard.length")
        heard.append(hand.page.evaluate("heard.join()"))
    assert heard[0] != heard[1]
    hand.page.reload()
    assert hand.page.evaluate("heard.length") == 0
