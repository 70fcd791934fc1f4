"""Photos at the bench: taken along at the counter, added to a visit, chosen for the owner."""

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.conf import settings as service
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import Settings

from api import links
from api.pages import uploads
from cylinders.models import Attachment, Cylinder, PersonLog, StoredFile, WorkOrder
from cylinders.queries.verification import verify
from tests import files, makers
from tests.api.pages.bench.desk import Desk

STAMP = makers.STAMP.replace("\n", "%0A")


@pytest.fixture(autouse=True)
def folder(settings: Settings, tmp_path: Path) -> None:
    settings.STORAGES = files.storages_in(tmp_path)


def photo(name: str = "p.jpg", text: str = "A") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, files.photo(text), "image/jpeg")


def receive(desk: Desk, **typed: Any) -> Desk:
    makers.make_customer()
    desk.open(f"/bench/intake/?stamp={STAMP}")
    return desk.press("receive", owner="Odo Quill", **typed)


def test_photos_are_taken_along_at_the_counter(desk: Desk) -> None:
    receive(desk, photos=[photo("a.jpg", "A"), photo("b.jpg", "B")])
    order = WorkOrder.objects.get()
    assert order.attachments.count() == 2
    assert verify().problems == ()


def test_a_bad_photo_is_named_the_good_one_stays_and_what_was_typed_too(desk: Desk) -> None:
    bad = SimpleUploadedFile("blurry.heic", b"\x00\x00\x00\x18ftypheic" + bytes(50))
    receive(desk, photos=[photo(), bad], condition="a dent at the foot")
    assert desk.status == 422
    assert "blurry.heic was not kept. This is a HEIC photo" in desk.text
    assert "1 photo is kept already." in desk.text
    assert "a dent at the foot" in desk.text
    assert not WorkOrder.objects.exists()
    desk.press("receive", owner="Odo Quill")
    order = WorkOrder.objects.get()
    assert order.condition == "a dent at the foot"
    assert order.attachments.count() == 1
    assert verify().problems == ()


def test_good_photos_stay_when_something_else_is_wrong(desk: Desk) -> None:
    desk.open(f"/bench/intake/?stamp={STAMP}").press("receive", owner="", photos=[photo()])
    assert desk.status == 422
    assert "1 photo is kept already." in desk.text
    makers.make_customer()
    desk.press("receive", owner="Odo Quill", photos=[photo("b.jpg", "B")])
    assert WorkOrder.objects.get().attachments.count() == 2


def test_a_kept_photo_is_forgotten_after_a_day_or_by_an_altered_field(desk: Desk) -> None:
    desk.open(f"/bench/intake/?stamp={STAMP}").press("receive", owner="", photos=[photo()])
    makers.make_customer()
    forged = desk.filled("receive", owner="Odo Quill", kept=["[1]"])
    with time_machine.travel(makers.NOON + dt.timedelta(hours=21), tick=False):
        desk.client.force_login(desk.user)
        assert uploads._numbers(desk.filled("receive")[1]["kept"][0]) == []
    desk.send(forged)
    assert WorkOrder.objects.get().attachments.count() == 0


def test_photos_come_along_when_it_is_received_again(desk: Desk) -> None:
    order = makers.receive()
    WorkOrder.objects.filter(pk=order.pk).update(stage="collected", closed_at=makers.NOON)
    desk.open(f"/bench/cylinders/{order.cylinder_id}/receive/")
    desk.press("receive", photos=[photo()])
    assert WorkOrder.objects.latest("pk").attachments.count() == 1


def test_two_posts_of_one_page_with_different_photos_are_two(desk: Desk) -> None:
    order = makers.receive()
    desk.open(f"/bench/cylinders/{order.cylinder_id}/photos/")
    path, content = desk.filled("add", shows="whole")
    for text in ("A", "A", "B"):
        desk.send((path, content | {"photos": [photo("p.jpg", text)]}))
    assert order.attachments.count() == 2


def test_a_phone_that_locked_says_that_the_photos_must_be_chosen_again(desk: Desk) -> None:
    order = makers.receive()
    desk.open(f"/bench/cylinders/{order.cylinder_id}/photos/")
    filled = desk.filled("add", shows="whole", photos=[photo()])
    later = makers.NOON + dt.timedelta(minutes=service.IDLE_MINUTES + 1)
    with time_machine.travel(later, tick=False):
        desk.send(filled)
        assert desk.status == 403
        form = next(form for form in desk.forms if any(f.name == "opens_with" for f in form.fields))
        carried = {one.name: one.value for one in form.fields if one.name}
        desk.send((filled[0], carried | {"opens_with": "wet-gloves-7"}))
    assert desk.status == 422
    assert "The phone locked before the files came through. Choose them again." in desk.text
    assert not StoredFile.objects.exists()


def test_the_owner_sees_the_chosen_photos_behind_the_link_and_nobody_else_any(desk: Desk) -> None:
    order = makers.receive()
    other = makers.receive(makers.make_customer("Ida Vane"), serial="QQ7")
    for one in (order, other):
        desk.open(f"/bench/cylinders/{one.cylinder_id}/photos/")
        desk.press("add", shows="stamp", photos=[photo(text=f"{one.pk}"), photo(text=f"-{one.pk}")])
    first, second = order.attachments.order_by("pk")
    strange = other.attachments.earliest("pk")
    desk.open(f"/bench/cylinders/{order.cylinder_id}/photos/")
    desk.press("show", chosen=[str(first.pk)])
    assert "The owner now sees 1 more, 0 no longer." in desk.text
    desk.press("show", chosen=[str(first.pk), str(strange.pk)])
    assert desk.status == 422, "another cylinder's photo cannot be chosen here"

    owner = Client()
    token = links.issue(
        cylinder_id=order.cylinder_id, at=makers.NOON, by=makers.staff(desk.user)
    ).token
    page = owner.get(f"/s/{token}").content.decode()
    assert f"/s/{token}/photos/{first.pk}.jpg" in page
    assert page.count("/photos/") == 1
    given = owner.get(f"/s/{token}/photos/{first.pk}.jpg")
    assert given.headers["Content-Type"] == "image/jpeg"
    assert given.headers["Content-Disposition"].startswith("inline; ")
    assert given.headers["Cache-Control"] == "private, no-store"
    assert given.headers["Referrer-Policy"] == "no-referrer"
    assert given.headers["X-Robots-Tag"] == "noindex, nofollow"
    twin = makers.receive(order.customer, serial="TW1")
    desk.open(f"/bench/cylinders/{twin.cylinder_id}/photos/")
    desk.press("add", shows="whole", photos=[photo(text="twin")])
    of_twin = twin.attachments.get()
    assert owner.get(f"/s/{token}/photos/{of_twin.pk}.jpg").status_code == 404
    desk.press("show", chosen=[str(of_twin.pk)])
    assert owner.get(f"/s/{token}/photos/{of_twin.pk}.jpg").status_code == 200
    for number in (second.pk, strange.pk, 999):
        assert owner.get(f"/s/{token}/photos/{number}.jpg").status_code == 404
    assert owner.get(f"/s/{'a' * len(token)}/photos/{first.pk}.jpg").status_code == 404
    assert owner.get(f"/bench/files/{first.pk}/").status_code == 302
    links.revoke_all(
        cylinder_id=order.cylinder_id, reason="sold", at=makers.NOON, by=makers.staff(desk.user)
    )
    assert owner.get(f"/s/{token}/photos/{first.pk}.jpg").status_code == 410


def test_the_page_behind_the_tag_never_shows_a_photo(desk: Desk) -> None:
    order = makers.receive()
    desk.open(f"/bench/cylinders/{order.cylinder_id}/").press("tag")
    code = desk.path.split("/bench/tags/")[1][:13]
    desk.open(f"/bench/cylinders/{order.cylinder_id}/photos/")
    desk.press("add", shows="stamp", photos=[photo()])
    desk.press("show", chosen=[str(Attachment.objects.get().pk)])
    public = Client().get(f"/t/{code}").content.decode()
    assert "photo" not in public.lower()
    assert Attachment.objects.get().file.sha256 not in public
    for address in ("/media/", f"/files/{StoredFile.objects.get().key}", "/static/files/"):
        assert Client().get(address).status_code == 404


def test_who_looked_at_photos_is_noted(desk: Desk) -> None:
    cache.clear()  # a look counts once in a while
    order = makers.receive()
    desk.open(f"/bench/cylinders/{order.cylinder_id}/photos/")
    assert PersonLog.objects.get(customer=order.customer).where == "photos"


def test_an_indication_and_its_trace_are_recorded_and_another_person_looks_again(
    desk: Desk,
) -> None:
    order = makers.receive(services=("visual",))
    makers.technician_one()
    makers.take_down(order)
    page = f"/bench/orders/{order.pk}/inspection/"
    seen = dict.fromkeys(("internal", "external", "threads"), "pass")
    trace = SimpleUploadedFile("trace.pdf", files.paper("trace"), "application/pdf")
    desk.open(page).press(
        "look",
        standard="CGA C-6.1",
        **seen,
        sticker_removed="on",
        eddy_current="indication",
        eddy_equipment="EC 2",
        eddy_ring="R 7",
        trace=trace,
    )
    assert "SECOND LOOK" in desk.text
    kept = Attachment.objects.get()
    answer = desk.client.get(f"/bench/files/{kept.pk}/")
    assert answer.content == files.paper("trace")
    assert answer.headers["Content-Disposition"].startswith("attachment; ")
    desk.open(page).press("again", seen="clear", notes="dirt in the first thread")
    assert desk.status == 409
    assert "You have looked at it already." in desk.text
    assert "dirt in the first thread" in desk.text
    ida = Desk("ida")
    ida.open(page).press("again", seen="clear", notes="dirt in the first thread")
    order.refresh_from_db()
    assert order.stage == "inspected"
    assert Cylinder.objects.get().last_visual == "2026-11"
    assert verify().problems == ()


def test_a_trace_that_is_no_paper_and_no_photo_is_refused_and_nothing_is_lost(desk: Desk) -> None:
    order = makers.receive(services=("visual",))
    makers.technician_one()
    makers.take_down(order)
    sent = SimpleUploadedFile("t.exe", b"MZ")
    desk.open(f"/bench/orders/{order.pk}/inspection/").press(
        "look", standard="CGA C-6.1", notes="seen well", trace=sent
    )
    assert desk.status == 422
    assert "t.exe was not kept." in desk.text
    assert "seen well" in desk.text
