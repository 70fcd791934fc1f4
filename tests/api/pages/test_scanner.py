"""The pages with a camera without their script: policy, photos, and what a kept scan is held to."""

import io
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from cylinders import history
from cylinders.facts import Kind
from cylinders.models import WorkOrder
from labels import render_raster
from labels.content import content_of
from labels.models import Tag
from labels.operations.binding import Thing, issue
from tests import makers
from tests.browser import world

pytestmark = pytest.mark.django_db

OPEN = "/bench/scan/camera/"


@pytest.fixture
def tessa() -> User:
    return makers.make_technician()


@pytest.fixture
def bench(client: Client, tessa: User) -> Client:
    """Tessa's browser, without script."""
    client.force_login(tessa)
    return client


def photo_of(*tags: Tag) -> SimpleUploadedFile:
    """The printed tags side by side."""
    sheets = [Image.open(io.BytesIO(render_raster.png(content_of(tag)))) for tag in tags]
    wall = Image.new("L", (sum(one.width + 80 for one in sheets), 900), 130)
    left = 40
    for sheet in sheets:
        wall.paste(sheet, (left, 60))
        left += sheet.width + 80
    out = io.BytesIO()
    wall.save(out, "PNG")
    return SimpleUploadedFile("tag.png", out.getvalue(), "image/png")


def send_photo(bench: Client, path: str, photo: SimpleUploadedFile | None) -> Any:
    fields = {"do": "photo"} | ({"photo": photo} if photo else {})
    response: Any = bench.post(path, fields)
    return response


@pytest.mark.parametrize(
    ("path", "camera"), [(OPEN, True), ("/bench/scan/", False), ("/bench/", False)]
)
def test_only_pages_with_a_camera_may_use_it(bench: Client, path: str, *, camera: bool) -> None:
    response = bench.get(path)
    assert ("camera=(self)" in response.headers["Permissions-Policy"]) is camera
    assert ("wasm-unsafe-eval" in response.headers["Content-Security-Policy"]) is camera


@pytest.mark.parametrize("method", ["get", "post"])
def test_a_stranger_is_asked_to_sign_in(client: Client, method: str) -> None:
    response = getattr(client, method)(OPEN)
    assert response.headers["Location"].startswith("/bench/login/")


def test_a_photo_of_one_tag_opens_it(bench: Client, tessa: User) -> None:
    _order, tag = world.arrived(tessa, serial="KX1")
    response = send_photo(bench, OPEN, photo_of(tag))
    assert response.headers["Location"] == f"/bench/scan/?code={tag.code}"


def test_a_photo_of_two_tags_is_asked_about(bench: Client, tessa: User) -> None:
    tags = [world.arrived(tessa, serial=serial)[1] for serial in ("KX1", "KX2")]
    response = send_photo(bench, OPEN, photo_of(*tags))
    text = response.content.decode()
    assert "Which one do you mean?" in text
    assert all(f"?code={tag.code}" in text for tag in tags)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "No photo arrived"),
        (b"%PDF-1.7", "This is no JPEG, PNG or WebP photo."),
        (b"\x89PNG\r\n\x1a\n broken", "photo"),
    ],
)
def test_what_is_no_photo_is_refused_in_words(bench: Client, content: bytes, says: str) -> None:
    sent = SimpleUploadedFile("x.png", content) if content else None
    response = send_photo(bench, OPEN, sent)
    assert response.status_code == 422
    assert says in response.content.decode()


def test_a_photo_that_is_too_large_is_not_even_opened(
    bench: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("api.pages.scanner.photo.MOST_BYTES", 1_000)
    response = send_photo(bench, OPEN, SimpleUploadedFile("x.png", b"x" * 1_001))
    assert response.status_code == 422
    assert "larger than" in response.content.decode()


def test_a_photo_of_a_bag_fits_nothing_until_its_button_is_pressed(
    bench: Client, tessa: User
) -> None:
    job = world.job(tessa, serial="KX1")
    before = len(history.timeline(job.cylinder.pk))
    path = job.reassembly + "camera/"
    response = send_photo(bench, path, photo_of(job.boot_bag))
    assert response.status_code == 200
    assert f'name="code" value="{job.boot_bag.code}"' in response.content.decode()
    assert len(history.timeline(job.cylinder.pk)) == before


def offer(bench: Client, job: world.Job, tag: Tag, **headers: str) -> Any:
    fields = {"do": "offer", "code": tag.code, "once": f"once-{tag.code}"}
    response: Any = bench.post(job.reassembly + "camera/", fields, headers=headers)
    return response


def version_of(order: WorkOrder) -> str:
    return str(makers.cylinder_of(order).events_held)


def test_a_kept_scan_is_refused_when_the_cylinder_was_worked_on_since(
    bench: Client, tessa: User
) -> None:
    job = world.job(tessa, serial="KX1")
    based_on = version_of(job.order)
    offer(bench, job, job.valve_bag)
    response = offer(bench, job, job.boot_bag, X_Based_On=based_on)
    assert response.status_code == 409
    assert "Somebody has worked on this cylinder since" in response.content.decode()
    job.boot.refresh_from_db()
    assert job.boot.whereabouts == "bagged"


def test_a_kept_scan_that_was_acted_on_is_answered_alike(bench: Client, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    based_on = version_of(job.order)
    first = offer(bench, job, job.boot_bag)
    again = offer(bench, job, job.boot_bag, X_Based_On=based_on)
    assert again.headers["Location"] == first.headers["Location"]
    kinds = [entry.kind for entry in history.timeline(job.cylinder.pk)]
    assert kinds.count(Kind.PART_FITTED) == 1
    assert Kind.PART_REFUSED not in kinds


def test_nobody_sends_what_somebody_else_scanned(bench: Client, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    bruno = makers.make_technician("bruno")
    response = offer(bench, job, job.boot_bag, X_Scanned_By=str(bruno.pk))
    assert response.status_code == 403
    job.boot.refresh_from_db()
    assert job.boot.whereabouts == "bagged"
    assert offer(bench, job, job.boot_bag, X_Scanned_By=str(tessa.pk)).status_code == 302


def test_without_script_the_camera_s_page_goes_on_scanning(bench: Client, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    response = offer(bench, job, job.boot_bag)
    assert response.headers["Location"].startswith(job.reassembly + "camera/?told=")


def test_a_tag_of_a_kit_is_read_from_its_photo(bench: Client, tessa: User) -> None:
    job = world.job(tessa, serial="KX1")
    by, host = makers.staff(tessa), settings.TAG_HOST
    kit = issue(thing=Thing.kit(job.order), host=host, at=makers.NOON, by=by)
    response = send_photo(bench, job.reassembly + "camera/", photo_of(kit))
    assert f'value="{kit.code}"' in response.content.decode()
