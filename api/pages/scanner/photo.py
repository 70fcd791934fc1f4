"""A photo of a tag, read by the server where the phone's camera could not be used.

Reading a photo does nothing: what was read is shown with a button, and only that button acts.
"""

from dataclasses import dataclass

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest
from django.utils.translation import gettext as _

from api.pages.bench.resolve import our_hosts
from labels import codes
from labels.reading import MOST_BYTES, PhotoRefused, read_photo


@dataclass(frozen=True, slots=True)
class Seen:
    """One text in a photo: a code that checks, or what it was instead."""

    code: str
    shown: str
    says: str


@dataclass(frozen=True, slots=True)
class PhotoRead:
    """What a photo held, and what to do better where it held nothing."""

    seen: tuple[Seen, ...]
    says: str

    @property
    def codes(self) -> list[str]:
        """The codes of ours in it."""
        return [one.code for one in self.seen if one.code]


def read(request: HttpRequest) -> PhotoRead:
    """Read the file that was sent as ``photo``; every fault is a sentence."""
    sent = request.FILES.get("photo")
    if not isinstance(sent, UploadedFile):
        return PhotoRead((), _("No photo arrived: choose one, or take it now."))
    if (sent.size or 0) > MOST_BYTES:  # before a byte of it is held in memory
        return PhotoRead(
            (),
            _("The photo is larger than %(most_bytes)s MB.")
            % {"most_bytes": MOST_BYTES // 1024 // 1024},
        )
    try:
        reading = read_photo(sent.read())
    except PhotoRefused as refused:
        return PhotoRead((), str(refused))
    seen = tuple(_seen(text, request) for text in reading.texts)
    return PhotoRead(seen, reading.hint)


def _seen(text: str, request: HttpRequest) -> Seen:
    found = codes.extract(text, our_hosts(request))
    if isinstance(found, codes.Found):
        return Seen(found.code, codes.show(found.code), "")
    return Seen("", found.shown, found.says)
