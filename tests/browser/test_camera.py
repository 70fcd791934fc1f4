"""The camera in the page: a printed tag before it opens its cylinder, and nothing else does."""

from pathlib import Path

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Browser, expect

from tests.browser import axe, world
from tests.browser import film as films
from tests.browser.phone import DESK, Phone, phone
from tests.browser.server import PLAIN_HOST

pytestmark = pytest.mark.django_db(transaction=True)
CAMERA = "/bench/scan/camera/"
FOREIGN = "https://elsewhere.test/t/7K2M9QX4WBTCK"


def test_a_printed_tag_opens_its_cylinder(seeing: Phone, film: Path, tessa: User) -> None:
    world.arrived(tessa, serial="KX1")
    order, tag = world.arrived(tessa, serial="KX2")
    films.show(film, (films.frame(), 20), (films.frame(films.printed(tag)), 120))
    page = seeing.open(CAMERA)
    page.wait_for_url(f"**/bench/orders/{order.pk}/teardown/**")
    assert "KX2" in page.inner_text("main")


OWN_DETECTOR = """
  window.BarcodeDetector = class {
    static getSupportedFormats() { return Promise.resolve(["qr_code"]); }
    detect() {
      sessionStorage.frames = Number(sessionStorage.frames ?? 0) + 1;
      return ANSWER;
    }
  };
"""
NOTHING_OF_USE = {
    "another text": 'Promise.resolve([{ rawValue: "https://elsewhere.test/" }])',
    "a fault": 'Promise.reject(new Error("no service"))',
    "nothing": "Promise.resolve([])",
}


@pytest.mark.parametrize("answer", NOTHING_OF_USE.values(), ids=NOTHING_OF_USE)
@pytest.mark.sampled(of=3)
def test_the_browser_s_own_detector_never_decides(
    answer: str, seeing: Phone, film: Path, tessa: User
) -> None:
    order, tag = world.arrived(tessa, serial="KX2")
    films.show(film, (films.frame(films.printed(tag)), 120))
    seeing.page.add_init_script(OWN_DETECTOR.replace("ANSWER", answer))
    page = seeing.open(CAMERA)
    page.wait_for_url(f"**/bench/orders/{order.pk}/teardown/**")
    assert int(page.evaluate("sessionStorage.frames")) >= 2


@pytest.mark.long
def test_what_both_readers_read_needs_no_second_frame(
    seeing: Phone, film: Path, tessa: User
) -> None:
    order, tag = world.arrived(tessa, serial="KX2")
    films.show(film, (films.frame(films.printed(tag)), 120))
    same = f'Promise.resolve([{{ rawValue: "{tag.url}" }}])'
    seeing.page.add_init_script(OWN_DETECTOR.replace("ANSWER", same))
    page = seeing.open(CAMERA)
    page.wait_for_url(f"**/bench/orders/{order.pk}/teardown/**")
    assert page.evaluate("sessionStorage.frames") == "1"


@pytest.mark.long
def test_two_tags_in_view_are_asked_about(seeing: Phone, film: Path, tessa: User) -> None:
    _first, one = world.arrived(tessa, serial="KX1")
    order, two = world.arrived(tessa, serial="KX2")
    films.show(film, (films.frame(films.printed(one), films.printed(two)), 30))
    page = seeing.open(CAMERA)
    which = page.locator("#which")
    expect(which).to_contain_text("More than one tag is in view")
    assert seeing.path == CAMERA
    assert axe.violations(page) == []
    seeing.keep("camera two tags")
    shown = f"{two.code[:4]} {two.code[4:8]} {two.code[8:]}"
    which.get_by_role("button", name=shown).click()
    page.wait_for_url(f"**/bench/orders/{order.pk}/teardown/**")


def test_a_text_that_is_not_ours_is_shown_and_never_followed(seeing: Phone, film: Path) -> None:
    films.show(film, (films.frame(films.symbol(FOREIGN)), 30))
    page = seeing.open(CAMERA)
    expect(seeing.answer.locator("strong")).to_have_text("NOT OUR TAG")
    assert FOREIGN in seeing.answer.inner_text()
    assert page.locator("main a[href*=elsewhere]").count() == 0
    assert seeing.path == CAMERA
    assert axe.violations(page) == []
    seeing.keep("camera not ours")


def test_a_code_that_does_not_check_is_not_sent(seeing: Phone, film: Path) -> None:
    asked: list[str] = []
    films.show(film, (films.frame(films.symbol("https://CYL.EXAMPLE/T/7K2M9QX4WBTCD")), 30))
    seeing.context.on("request", lambda request: asked.append(request.url))
    seeing.open(CAMERA)
    expect(seeing.answer.locator("strong")).to_have_text("NOT OUR TAG")
    assert not [url for url in asked if "7K2M9QX4WBTCD" in url]


@pytest.mark.sampled(of=2)
def test_a_refused_camera_is_explained_with_the_ways_on(both: Phone) -> None:
    page = both.open(CAMERA)
    says = page.locator("#camera-says")
    expect(says).to_contain_text("may not use the camera")
    expect(says).to_contain_text("Type the code, use a hand scanner, or send a photo.")
    expect(page.locator("video")).not_to_be_visible()
    expect(page.get_by_label("Or type the code")).to_be_visible()
    assert axe.violations(page) == []
    both.keep("camera refused")


@pytest.mark.long
def test_a_device_without_a_camera_is_told_so(seeing: Phone) -> None:
    seeing.page.add_init_script("""
        navigator.mediaDevices.getUserMedia =
          () => Promise.reject(new DOMException("none", "NotFoundError"));
    """)
    page = seeing.open(CAMERA)
    expect(page.locator("#camera-says")).to_contain_text("There is no camera on this device")


@pytest.mark.long
def test_a_camera_that_is_taken_away_is_told_and_typing_goes_on(
    seeing: Phone, film: Path, tessa: User
) -> None:
    order, tag = world.arrived(tessa, serial="KX1")
    films.show(film, (films.frame(), 30))
    page = seeing.open(CAMERA)
    expect(page.locator("#camera-says")).to_have_text("Hold a tag in view")
    page.evaluate("""() => {
      const [track] = document.querySelector("video").srcObject.getVideoTracks();
      track.stop();
      track.dispatchEvent(new Event("ended"));  // what a call or an unplugged camera causes
    }""")
    expect(page.locator("#camera-says")).to_contain_text("Another program holds the camera")
    expect(page.locator("video")).not_to_be_visible()
    page.wait_for_timeout(2_500)  # longer than frames may be missed
    expect(page.locator("#camera-says")).to_contain_text("Another program holds the camera")
    seeing.keystrokes(tag.url)
    page.wait_for_url(f"**/bench/orders/{order.pk}/teardown/**")


@pytest.mark.long
def test_a_reader_that_does_not_load_is_told(seeing: Phone, film: Path) -> None:
    films.show(film, (films.frame(), 30))
    seeing.page.route("**/*.wasm", lambda route: route.abort())
    page = seeing.open(CAMERA)
    expect(page.locator("#camera-says")).to_contain_text("the reader of codes did not load")
    assert any("wasm" in fault for fault in seeing.faults)
    seeing.faults.clear()  # the reader's own complaints, which were asked for here


@pytest.mark.long
def test_plain_http_on_a_shop_s_network_is_told_so(
    browser: Browser, base: str, tessa: User
) -> None:
    order, tag = world.arrived(tessa, serial="KX1")
    with phone(browser, base.replace("127.0.0.1", PLAIN_HOST), tessa) as mine:
        page = mine.open(CAMERA)
        expect(page.locator("#camera-says")).to_contain_text("plain http")
        mine.keystrokes(tag.url)
        page.wait_for_url(f"**/bench/orders/{order.pk}/teardown/**")


@pytest.mark.parametrize("page", ["bench", "phone"])
@pytest.mark.sampled(of=2)
def test_a_photo_is_read_without_any_script(
    page: str, browser: Browser, base: str, tessa: User, tmp_path: Path
) -> None:
    order, tag = world.arrived(tessa, serial="KX1")
    photo = tmp_path / "tag.jpg"
    photo.write_bytes(films.frame(films.printed(tag)))
    size = {"viewport": DESK} if page == "bench" else {}
    with phone(browser, base, tessa, java_script_enabled=False) as mine:
        if size:
            mine.page.set_viewport_size(DESK)
        opened = mine.open(CAMERA)
        opened.get_by_text("send a photo").click()
        opened.get_by_label("Photo of the tag").set_input_files(photo)
        opened.get_by_role("button", name="Read the photo").click()
        assert mine.path == f"/bench/orders/{order.pk}/teardown/"
