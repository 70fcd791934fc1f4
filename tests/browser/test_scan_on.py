"""Scan, scan, scan: the camera's page keeps the list and the count, and the server judges each."""

from pathlib import Path

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import expect

from cylinders import history
from cylinders.facts import Kind
from labels.models import Tag
from tests import makers
from tests.browser import axe, world
from tests.browser import film as films
from tests.browser.phone import LISTEN, Phone

pytestmark = pytest.mark.django_db(transaction=True)


def scan(hand: Phone, code: str, word: str) -> None:
    """Scan with a hand scanner on the camera's page and wait for the large word."""
    hand.page.fill("#scan", code)
    hand.page.press("#scan", "Enter")
    expect(hand.answer.locator(".answer strong")).to_have_text(word)


def test_one_bag_after_the_other_goes_on(seeing: Phone, film: Path, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    boot, valve = (films.frame(films.printed(tag)) for tag in (job.boot_bag, job.valve_bag))
    films.show(film, (boot, 60), (films.frame(), 15), (valve, 600))
    page = seeing.open(job.reassembly + "camera/")
    work = page.locator("#work")
    expect(work).to_contain_text("1 still missing")
    assert "black boot" in seeing.answer.inner_text()
    expect(work).to_contain_text("2 settled")
    assert seeing.answer.locator("strong").inner_text() == "MATCH"
    assert axe.violations(page) == []
    seeing.keep("camera fitted")
    kinds = [entry.kind for entry in history.timeline(job.cylinder.pk)]
    assert kinds.count(Kind.PART_FITTED) == 2
    assert kinds.count(Kind.PART_REFUSED) == 0  # a tag that stays in view is one scan
    page.get_by_role("button", name="Nothing is missing: close the reassembly").click()
    page.wait_for_url("**/reassembly/**")
    job.order.refresh_from_db()
    assert job.order.stage == "reassembled"


@pytest.mark.long
def test_cylinders_are_packed_and_taken_in_one_after_the_other(hand: Phone, tessa: User) -> None:
    lab = makers.make_lab()
    first, second = (world.bare(tessa, serial=serial) for serial in ("KX1", "KX2"))
    _order, stranger = world.arrived(tessa, serial="KX3")
    hand.open(f"/bench/runs/to/{lab.pk}/camera/")
    scan(hand, first.code, "PACKED")
    scan(hand, stranger.code, "NOT EXPECTED")
    scan(hand, second.code, "PACKED")
    page = hand.page
    expect(page.locator("#work")).to_contain_text("Packed: 2")
    page.get_by_label("Who carries it?").fill("Bruno")
    page.get_by_role("button", name="Hand it to the carrier").click()
    page.wait_for_url("**/bench/runs/*/?**")
    hand.open("/bench/runs/in/camera/")
    scan(hand, second.code, "HOME")
    expect(page.locator("#work")).to_contain_text("Short: 1 still away")
    assert axe.violations(page) == []
    hand.keep("camera take in")


def test_match_and_wrong_differ_in_every_way(hand: Phone, tessa: User) -> None:
    job, other = world.job(tessa, serial="KX1"), world.job(tessa, serial="QQ7")
    hand.page.add_init_script(LISTEN)
    page = hand.open(job.reassembly + "camera/")
    seen = {}
    for word, code in (("MATCH", job.boot_bag.code), ("WRONG CYLINDER", other.boot_bag.code)):
        scan(hand, code, word)
        answer = hand.answer.locator(".answer")
        seen[word] = {
            "shape": answer.locator("svg").inner_html(),
            "colour": answer.evaluate("box => getComputedStyle(box).backgroundColor"),
            "sound": page.evaluate("heard.splice(0).join()"),
            "vibration": page.evaluate("felt.splice(0).join()"),
        }
        hand.keep(f"camera {word.lower()}")
    for name, value in seen["MATCH"].items():
        assert value
        assert seen["WRONG CYLINDER"][name] not in ("", value), name
    assert page.locator("#told").get_attribute("role") == "status"


@pytest.mark.long
def test_sound_and_vibration_stay_off_once_switched_off(hand: Phone, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    hand.page.add_init_script(LISTEN)
    page = hand.open(job.reassembly + "camera/")
    page.get_by_label("Sound").uncheck()
    page.get_by_label("Vibration").uncheck()
    page.reload()
    scan(hand, job.boot_bag.code, "MATCH")
    assert page.evaluate("[heard.length, felt.length]") == [0, 0]
    expect(page.get_by_label("Sound")).not_to_be_checked()


@pytest.mark.long
def test_blank_tags_are_put_on_part_after_part(seeing: Phone, film: Path, tessa: User) -> None:
    order, [valve, boot] = world.parts_off(tessa, serial="KX1")
    first, second = world.blanks(2)
    pictures = [films.frame(films.printed(tag)) for tag in (first, second)]
    films.show(film, (pictures[0], 40), (films.frame(), 20), (pictures[1], 600))
    page = seeing.open(f"/bench/orders/{order.pk}/teardown/camera/")
    expect(page.locator(".for")).to_contain_text("black boot")  # what came off last
    expect(page.locator(".for")).to_contain_text("valve")
    expect(page.locator("#parts")).to_contain_text(second.code)
    tags = {tag.part_id: tag.code for tag in Tag.objects.filter(part__work_order=order)}
    assert tags == {boot.pk: first.code, valve.pk: second.code}


def test_a_blank_tag_becomes_the_cylinder_s_own(hand: Phone, tessa: User) -> None:
    order = makers.receive(by=makers.staff(tessa), serial="KX1")
    [blank] = world.blanks(1)
    hand.open(f"/bench/cylinders/{order.cylinder_id}/camera/")
    hand.page.fill("#scan", blank.code)
    hand.page.press("#scan", "Enter")
    hand.page.wait_for_url("**/?told=*")
    expect(hand.page.locator("main .code").first).to_have_text(blank.code)
    assert Tag.objects.get(cylinder=order.cylinder_id).code == blank.code
