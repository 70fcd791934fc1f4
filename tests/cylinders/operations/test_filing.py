"""Files: bytes first, then a row, then the event; shown by choice, erased with their owner."""

import datetime as dt
from pathlib import Path

import pytest
from django.core.files.storage import default_storage
from django.db import transaction
from pytest_django import Settings

from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.models import Attachment, StoredFile, WorkOrder
from cylinders.operations import filing, handover, intake, privacy
from cylinders.operations.filing import Content
from cylinders.queries import stored_files
from cylinders.queries.person import everything_of
from cylinders.queries.verification import verify
from cylinders.rules.refusal import Refused
from tests import files, makers

pytestmark = [pytest.mark.django_db, pytest.mark.both_engines]

AT = makers.NOON
BY = Actor("staff", "1")


@pytest.fixture(autouse=True)
def folder(settings: Settings, tmp_path: Path) -> Path:
    """A storage of its own for each test."""
    settings.STORAGES = files.storages_in(tmp_path)
    return tmp_path


def keep(text: str = "A", at: dt.datetime = AT) -> int:
    return filing.keep(Content(text.encode(), "image/jpeg", 4, 3), at=at).pk


def add(order: WorkOrder, *texts: str) -> int:
    numbers = [keep(text) for text in texts]
    return filing.add_photos(
        cylinder_id=order.cylinder_id, files=numbers, shows="stamp", at=AT, by=BY
    )


def lying(folder: Path) -> int:
    """How many files there are in the storage."""
    return sum(path.is_file() for path in folder.rglob("*"))


def test_a_photo_is_an_event_and_verify_holds_row_and_bytes_against_it() -> None:
    order = makers.receive()
    assert add(order, "A", "B") == 2
    first, second = Attachment.objects.order_by("pk")
    told = [e.facts for e in history.timeline(order.cylinder_id) if e.kind is Kind.FILE_ADDED]
    assert [facts["sha256"] for facts in told] == [first.file.sha256, second.file.sha256]
    assert told[0]["media_type"] == "image/jpeg"
    assert told[0]["work_order"] == order.pk
    assert verify().problems == ()
    Attachment.objects.filter(pk=first.pk).update(for_owner=True)
    [problem] = verify().problems
    assert f"file {first.pk}, for_owner" in problem
    Attachment.objects.filter(pk=first.pk).update(for_owner=False, file=second.file)
    assert any("sha256" in problem for problem in verify().problems)
    Attachment.objects.filter(pk=first.pk).delete()
    assert any(f"file {first.pk}" in problem for problem in verify().problems)


def test_one_content_is_one_file_wherever_it_belongs(folder: Path) -> None:
    order, other = makers.receive(), makers.receive(makers.make_customer("Ida Vane"), serial="QQ7")
    assert add(order, "A") == 1
    assert add(order, "A") == 0
    assert add(other, "A") == 1
    assert StoredFile.objects.count() == lying(folder) == 1
    assert Attachment.objects.count() == 2


def test_photos_come_in_with_the_cylinder() -> None:
    number = keep()
    order = intake.receive_new(
        newcomer=intake.Newcomer(makers.make_markings()),
        owner_id=makers.make_customer().pk,
        arrival=intake.Arrival(photos=[number]),
        at=AT,
        by=BY,
    )
    assert [photo.file_id for photo in stored_files.photos(order.cylinder)] == [number]
    assert verify().problems == ()


def test_what_was_swept_away_or_never_kept_is_refused_and_nothing_is_stored() -> None:
    order = makers.receive()
    with pytest.raises(Refused) as refused:
        filing.add_photos(cylinder_id=order.cylinder_id, files=[9], shows="stamp", at=AT, by=BY)
    assert refused.value.code == "file_gone"
    with pytest.raises(Refused) as refused:
        filing.add_photos(
            cylinder_id=order.cylinder_id, files=[keep()], shows="a face", at=AT, by=BY
        )
    assert refused.value.code == "unknown_word"
    assert not Attachment.objects.exists()


def test_a_cylinder_that_is_not_in_the_house_gets_no_photo() -> None:
    order = makers.receive()
    handover.withdraw(work_order_id=order.pk, reason="no time", at=AT, by=BY)
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=AT, by=BY)
    with pytest.raises(Refused) as refused:
        add(order, "A")
    assert refused.value.code == "no_visit"


def test_a_visit_has_at_most_sixty_photos(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(filing, "MOST_PHOTOS", 2)
    order = makers.receive()
    with pytest.raises(Refused) as refused:
        add(order, "A", "B", "C")
    assert refused.value.code == "too_many_photos"
    assert not Attachment.objects.exists()
    assert verify().problems == ()


def test_the_owner_sees_what_was_chosen_and_only_of_their_own_visits() -> None:
    order = makers.receive()
    add(order, "A", "B")
    first, second = Attachment.objects.order_by("pk")
    cylinder = order.cylinder_id
    chosen = filing.show_to_owner(cylinder_id=cylinder, chosen=[first.pk, 999], at=AT, by=BY)
    assert chosen == (1, 0)
    assert [one.pk for one in stored_files.for_owner(makers.cylinder_of(order))] == [first.pk]
    swapped = filing.show_to_owner(cylinder_id=cylinder, chosen=[second.pk], at=AT, by=BY)
    assert swapped == (1, 1)
    assert filing.show_to_owner(cylinder_id=cylinder, chosen=[second.pk], at=AT, by=BY) == (0, 0)
    kinds = [entry.kind for entry in history.timeline(cylinder)]
    assert kinds.count(Kind.FILE_SHOWN) == 3
    assert verify().problems == ()
    WorkOrder.objects.filter(pk=order.pk).update(customer=makers.make_customer("Ida Vane"))
    assert stored_files.for_owner(makers.cylinder_of(order)) == []


def test_bytes_and_rows_that_came_to_belong_to_nothing_are_swept_after_a_day(folder: Path) -> None:
    order = makers.receive()
    add(order, "A")
    keep("never attached")
    written = default_storage.get_modified_time(Attachment.objects.get().file.key)
    StoredFile.objects.update(stored_at=written)
    assert filing.sweep(at=written + dt.timedelta(hours=23)) == 0
    assert StoredFile.objects.count() == lying(folder) == 2
    assert filing.sweep(at=written + dt.timedelta(hours=25)) == 1
    assert StoredFile.objects.count() == lying(folder) == 1
    assert verify().problems == ()


def test_a_sweep_of_a_storage_that_was_never_written_to_finds_nothing() -> None:
    assert filing.sweep(at=AT) == 0


@pytest.mark.django_db(transaction=True)
def test_photos_go_with_the_person_and_the_history_stays_whole(folder: Path) -> None:
    makers.technician_one()
    owner = makers.make_customer()
    order = makers.receive(owner)
    other = makers.receive(makers.make_customer("Ida Vane"), serial="QQ7")
    add(order, "face", "shared")
    add(other, "shared")
    filing.show_to_owner(
        cylinder_id=order.cylinder_id,
        chosen=list(Attachment.objects.values_list("pk", flat=True)),
        at=AT,
        by=BY,
    )
    handed_out = everything_of(owner, at=AT)["photos"]
    assert [photo["base64"] for photo in handed_out] == ["ZmFjZQ==", "c2hhcmVk"]
    handover.withdraw(work_order_id=order.pk, reason="no time", at=AT, by=BY)
    handover.hand_over(work_order_id=order.pk, to_owner=True, at=AT, by=BY)
    privacy.erase(customer_id=owner.pk, reason="asked by letter", at=AT, by=BY)
    assert [path.read_bytes() for path in folder.rglob("*") if path.is_file()] == [b"shared"]
    assert everything_of(owner, at=AT)["photos"] == []
    erased = Attachment.objects.filter(cylinder=order.cylinder_id)
    assert all(photo.erased_at == AT and not photo.for_owner for photo in erased)
    assert stored_files.photos(makers.cylinder_of(order)) == []
    assert verify().problems == ()
    Attachment.objects.filter(cylinder=order.cylinder_id).update(erased_at=None)
    assert any("erased" in problem for problem in verify().problems)


@pytest.mark.django_db(transaction=True)
def test_an_erasure_that_fails_takes_no_bytes(folder: Path) -> None:
    owner = makers.make_customer()
    order = makers.receive(owner)
    add(order, "face")

    def erase_and_fail() -> None:
        with transaction.atomic():
            filing.erase_photos_of(owner, at=AT, by=BY)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        erase_and_fail()
    assert lying(folder) == 1
    assert verify().problems == ()


def test_an_erased_photo_that_is_sent_again_is_kept_again() -> None:
    owner = makers.make_customer()
    order = makers.receive(owner)
    add(order, "A")
    with transaction.atomic():
        filing.erase_photos_of(owner, at=AT, by=BY)
    assert add(order, "A") == 1
    assert verify().problems == ()
