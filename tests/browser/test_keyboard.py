"""The keyboard alone does the work, and always shows where it is."""

import pytest
from django.contrib.auth.models import User

from cylinders.models import Part
from tests.browser import world
from tests.browser.phone import DESK, Phone

pytestmark = pytest.mark.django_db(transaction=True)

_MOST_STEPS = 60
#: the words of what has the focus, and whether it can be seen to have it
_FOCUS = """() => {
  const one = document.activeElement;
  const style = getComputedStyle(one);
  const words = one.labels?.length ? one.labels[0].innerText : one.innerText;
  const seen = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2;
  return [one.type === "checkbox" ? "tick" : one.tagName, words.trim(), seen];
}"""


def tab_to(mine: Phone, words: str) -> None:
    """Press Tab until what bears ``words`` has the focus."""
    for _ in range(_MOST_STEPS):
        mine.page.keyboard.press("Tab")
        kind, found, seen = mine.page.evaluate(_FOCUS)
        assert seen or kind == "BODY", f"the focus on {kind} {found!r} cannot be seen"
        if kind != "BODY" and found.startswith(words):
            return
    pytest.fail(f"Tab never came to {words!r}")


def press(mine: Phone, words: str) -> None:
    tab_to(mine, words)
    with mine.page.expect_navigation():
        mine.page.keyboard.press("Enter")


def test_a_cylinder_is_taken_down_by_the_keyboard(hand: Phone, tessa: User) -> None:
    order, tag = world.arrived(tessa, serial="KX1")
    hand.page.set_viewport_size(DESK)
    hand.open("/bench/")
    with hand.page.expect_navigation():
        hand.keystrokes(tag.code)
    tab_to(hand, "The valve stands open")
    hand.page.keyboard.press("Space")
    press(hand, "It is empty")
    press(hand, "Valve")
    tab_to(hand, "3/4-14 NPSM")
    hand.page.keyboard.press("Space")
    tab_to(hand, "Yoke")
    hand.page.keyboard.press("Space")
    press(hand, "Record the valve")
    tab_to(hand, "Sound")
    hand.page.keyboard.press("Space")
    tab_to(hand, "The travel plug is in")
    hand.page.keyboard.press("Space")
    press(hand, "The teardown is done")
    order.refresh_from_db()
    assert order.stage == "torn_down"
    assert Part.objects.get(work_order=order).thread == "3/4-14 NPSM"


@pytest.mark.long
def test_a_link_skips_to_the_work(hand: Phone) -> None:
    page = hand.open("/bench/due/")
    tab_to(hand, "Go to the work")
    page.keyboard.press("Enter")
    page.wait_for_function("() => document.activeElement.id === 'main'")
