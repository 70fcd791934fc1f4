"""Files as they lie in the storage: read them, and hold them against what the history says."""

import hashlib
from collections.abc import Iterator

from django.core.files.storage import default_storage
from django.db.models import QuerySet

from cylinders.models import Attachment, Customer, Cylinder, FileKind, StoredFile


class FileMissing(Exception):
    """Raised where a row names a file whose bytes are not there, or are others."""


def read(file: StoredFile) -> bytes:
    """The bytes of a file, which are those that were stored: their digest is taken again."""
    try:
        with default_storage.open(file.key) as opened:
            data: bytes = opened.read()
    except (OSError, ValueError) as problem:
        raise FileMissing(f"its bytes are not in the storage ({type(problem).__name__})") from (
            problem
        )
    if hashlib.sha256(data).hexdigest() != file.sha256:
        raise FileMissing("its bytes in the storage are not those that were stored")
    return data


def is_whole(file: StoredFile) -> bool:
    """Whether the bytes of a file are there, unchanged."""
    try:
        read(file)
    except FileMissing:
        return False
    return True


def photos(cylinder: Cylinder) -> list[Attachment]:
    """The photos of a cylinder that were not erased, the latest first."""
    rows = cylinder.attachments.filter(kind=FileKind.PHOTO, erased_at__isnull=True)
    return list(rows.select_related("file", "work_order").order_by("-pk"))


def for_owner(cylinder: Cylinder) -> list[Attachment]:
    """The photos that the shop chose to show the present owner, of their own visits only."""
    theirs = cylinder.attachments.filter(
        kind=FileKind.PHOTO,
        for_owner=True,
        erased_at__isnull=True,
        work_order__customer=cylinder.owner_id,
    )
    return list(theirs.select_related("file").order_by("-pk"))


def papers(*, lab_id: int, reference: str) -> QuerySet[Attachment]:
    """The papers of that lab's own record of that reference, in the order of their arrival."""
    theirs = Attachment.objects.filter(record__lab_id=lab_id, record__lab_reference=reference)
    return theirs.filter(kind=FileKind.PAPER).select_related("file").order_by("pk")


def photos_of_person(customer: Customer) -> list[Attachment]:
    """Every photo of a person's visits and of the cylinders that are theirs, oldest first."""
    rows = Attachment.objects.filter(kind=FileKind.PHOTO, erased_at__isnull=True)
    theirs = rows.filter(work_order__customer=customer) | rows.filter(cylinder__owner=customer)
    return list(theirs.distinct().select_related("file").order_by("cylinder_id", "pk"))


def rows_of(cylinder: Cylinder) -> dict[int, dict[str, object]]:
    """What the rows say of each file of a cylinder, in the shape of the story."""
    return {
        one.pk: {
            "sha256": one.file.sha256,
            "file_kind": one.kind,
            "media_type": one.file.media_type,
            "shows": one.shows,
            "work_order": one.work_order_id,
            "record": one.record_id,
            "inspection": one.inspection_id,
            "for_owner": one.for_owner,
            "erased": one.erased_at is not None,
        }
        for one in cylinder.attachments.all()
    }


def problems() -> Iterator[str]:
    """Each file that belongs to a cylinder and whose bytes are missing or altered, as a sentence.

    A storage has no snapshot: what was erased since its row was read is no problem, so this must
    not run in a transaction that shows older rows.
    """
    kept = Attachment.objects.filter(erased_at__isnull=True)
    for one in list(kept.select_related("file").order_by("cylinder", "pk")):
        try:
            read(one.file)
        except FileMissing as missing:
            if kept.filter(pk=one.pk).exists():
                yield f"cylinder {one.cylinder_id}, {one}: {missing}"
