"""Keep a photo, a trace or a paper: its bytes first, then its row, then the event.

A process that dies in between leaves bytes that no row names; :func:`sweep` takes them away after a
day. The edge has judged the bytes, and made photos anew, before they come here.
"""

import datetime as dt
import hashlib
import secrets
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, transaction

from cylinders import history
from cylinders.facts import Actor, FileAdded, FileErased, FileShown
from cylinders.models import Attachment, Customer, Cylinder, FileKind, Shows, StoredFile, WorkOrder
from cylinders.queries import stored_files
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

FOLDER = "files"
#: How old something that belongs to nothing must be before it is swept away.
GRACE = dt.timedelta(days=1)
#: How many photos one visit may have: no page and no export has to carry more.
MOST_PHOTOS = 60


@dataclass(frozen=True, slots=True)
class Content:
    """Bytes that may be kept, with the media type that was found in them; pixels of a picture."""

    data: bytes
    media_type: str
    width: int | None = None
    height: int | None = None


@dataclass(frozen=True, slots=True)
class About:
    """What a file is for, what it shows, and what of the cylinder it belongs to, by number."""

    kind: FileKind
    shows: str
    work_order: int | None = None
    record: int | None = None
    inspection: int | None = None


def keep(content: Content, *, at: dt.datetime) -> StoredFile:
    """Store ``content`` and return its row; the same content again is the same row.

    It belongs to nothing yet, and is swept away after a day if it never does. Raises
    :class:`Refused` where the storage does not take it.
    """
    sha256 = hashlib.sha256(content.data).hexdigest()
    known = StoredFile.objects.filter(sha256=sha256).first()
    if known is None:
        row = StoredFile(
            sha256=sha256,
            key=_write(sha256, content.data),
            media_type=content.media_type,
            size=len(content.data),
            width=content.width,
            height=content.height,
            stored_at=at,
        )
        try:
            with transaction.atomic():
                row.save()
        except IntegrityError:  # another request was faster with the same photo
            return StoredFile.objects.get(sha256=sha256)
        return row
    if not (known.key and stored_files.is_whole(known)):
        known.key = _write(sha256, content.data)
    known.stored_at = at
    known.save(update_fields=["key", "stored_at"])
    return known


def attach(
    cylinder: Cylinder, file_id: int, about: About, *, at: dt.datetime, by: Actor
) -> tuple[Attachment, bool]:
    """Let a kept file belong to a cylinder that the caller has locked; False where it did already.

    Must run inside ``transaction.atomic``.
    """
    if about.shows not in Shows.values:
        raise Refused("unknown_word", say("Say what it shows: {words}.", words=_words()))
    file = StoredFile.objects.select_for_update().filter(pk=file_id).exclude(key="").first()
    if file is None:
        raise Refused("file_gone", say("That file is no longer kept. Choose it again."))
    place = {
        "kind": about.kind,
        "work_order_id": about.work_order,
        "record_id": about.record,
        "inspection_id": about.inspection,
    }
    held = cylinder.attachments.filter(file=file, erased_at__isnull=True, **place).first()
    if held:
        return held, False
    made = Attachment.objects.create(
        cylinder=cylinder, file=file, shows=about.shows, added_at=at, **place
    )
    facts = FileAdded(
        attachment=made.pk,
        sha256=file.sha256,
        file_kind=about.kind.value,
        media_type=file.media_type,
        shows=str(about.shows),
        work_order=about.work_order,
        record=about.record,
        inspection=about.inspection,
    )
    history.append(cylinder, facts, at=at, by=by)
    return made, True


@transaction.atomic
def add_photos(
    *, cylinder_id: int, files: Sequence[int], shows: str, at: dt.datetime, by: Actor
) -> int:
    """Let kept photos belong to the open visit of a cylinder; returns how many are new there."""
    cylinder = history.lock(cylinder_id)
    order = cylinder.work_orders.filter(closed_at__isnull=True).first()
    if order is None:
        raise Refused("no_visit", say("It is not in the house. Receive it again first."))
    if not files:
        raise Refused("no_photo", say("No photo arrived: choose one, or take it now."))
    return put_with(cylinder, order, files, shows, at=at, by=by)


def put_with(
    cylinder: Cylinder,
    order: WorkOrder,
    files: Sequence[int],
    shows: str,
    *,
    at: dt.datetime,
    by: Actor,
) -> int:
    """The same for a visit that the caller has locked with its cylinder."""
    about = About(FileKind.PHOTO, shows, work_order=order.pk)
    new = sum(attach(cylinder, file, about, at=at, by=by)[1] for file in files)
    if order.attachments.filter(kind=FileKind.PHOTO).count() > MOST_PHOTOS:
        says = say("A visit has at most {most} photos. Leave some out.", most=MOST_PHOTOS)
        raise Refused("too_many_photos", says)
    return new


@transaction.atomic
def show_to_owner(
    *, cylinder_id: int, chosen: Sequence[int], at: dt.datetime, by: Actor
) -> tuple[int, int]:
    """Let the owner see exactly the ``chosen`` photos; returns how many were added and withdrawn.

    Nothing else of a cylinder is shown to its owner as a file.
    """
    cylinder = history.lock(cylinder_id)
    changed = {True: 0, False: 0}
    for photo in reversed(stored_files.photos(cylinder)):
        shown = photo.pk in chosen
        if shown == photo.for_owner:
            continue
        photo.for_owner = shown
        photo.save(update_fields=["for_owner"])
        history.append(cylinder, FileShown(attachment=photo.pk, shown=shown), at=at, by=by)
        changed[shown] += 1
    return changed[True], changed[False]


def erase_photos_of(customer: Customer, *, at: dt.datetime, by: Actor) -> int:
    """Erase the photos of every visit of a person and of the cylinders that are theirs.

    Must run inside ``transaction.atomic``; the bytes go when it has ended well.
    """
    found = stored_files.photos_of_person(customer)
    for photo in found:
        cylinder = history.lock(photo.cylinder_id)
        photo.erased_at, photo.for_owner = at, False
        photo.save(update_fields=["erased_at", "for_owner"])
        facts = FileErased(attachment=photo.pk, sha256=photo.file.sha256)
        history.append(cylinder, facts, at=at, by=by)
    for file in StoredFile.objects.filter(pk__in={photo.file_id for photo in found}):
        if not file.attachments.filter(erased_at__isnull=True).exists():
            key, file.key = file.key, ""
            file.save(update_fields=["key"])
            transaction.on_commit(partial(default_storage.delete, key), robust=True)
    return len(found)


def sweep(*, at: dt.datetime) -> int:
    """Delete bytes that no row names, and files that never came to belong to anything.

    Both only once they are a day old, so that nothing is taken from under a request. Returns how
    many files were deleted.
    """
    StoredFile.objects.filter(attachments__isnull=True, stored_at__lt=at - GRACE).delete()
    swept = 0
    for key in _keys():
        named = StoredFile.objects.filter(key=key).exists()
        if not named and default_storage.get_modified_time(key) < at - GRACE:
            default_storage.delete(key)
            swept += 1
    return swept


def _keys() -> Iterator[str]:
    """The key of everything that lies in the folder."""
    try:
        folders, _files = default_storage.listdir(FOLDER)
    except FileNotFoundError:  # nothing was ever kept
        return
    for folder in folders:
        for name in default_storage.listdir(f"{FOLDER}/{folder}")[1]:
            yield f"{FOLDER}/{folder}/{name}"


def _write(sha256: str, data: bytes) -> str:
    """Write the bytes under a key of their own, so that half a file is never taken for a whole."""
    key = f"{FOLDER}/{sha256[:2]}/{sha256}-{secrets.token_hex(4)}"
    try:
        return default_storage.save(key, ContentFile(data))
    except OSError as problem:
        says = say(
            "The file could not be stored ({problem}). Nothing was recorded; what you typed is "
            "still here. Free some room, then send it again.",
            problem=problem.strerror or type(problem).__name__,
        )
        raise Refused("cannot_store", says) from problem


def _words() -> str:
    return ", ".join(Shows.values)
