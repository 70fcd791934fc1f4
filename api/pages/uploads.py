"""Files in forms: each judged as it comes, refused by its name and reason, and kept if it is good.

A good photo is stored before the form is: where something else in the form is wrong, its number
comes back in a signed field, so nobody has to take it again. What never comes to belong to anything
is swept away after a day.
"""

from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING, Any

from django import forms
from django.core import signing
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils import timezone
from django.utils.translation import gettext as _

from api import papers, photos
from api.pages.fields import PageForm
from api.pages.lock import FILES_LOST
from api.wording import told
from cylinders.models import StoredFile
from cylinders.operations import filing
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say
from labels import codes

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile

MOST_AT_ONCE = 12
#: A kept photo waits this long for its form; the sweep comes after a day.
_KEPT_SECONDS = 20 * 60 * 60
_SALT = "kept photos"
_LONGEST_NAME = 60


def shown_name(name: str | None) -> str:
    """A file's name as it may stand in a page: no sign that hides or turns what follows."""
    plain = "".join(sign if sign.isprintable() else "?" for sign in name or "")
    return plain if len(plain) <= _LONGEST_NAME else f"{plain[: _LONGEST_NAME - 1]}…"


class ManyPhotos(forms.FileInput):
    """Two controls of one name: the camera for one photo, and a choice of several."""

    allow_multiple_selected = True
    template_name = "pages/photos.html"

    def value_from_datadict(self, _data: Any, files: Any, name: str) -> list[Any]:
        """Every file that came under the name."""
        return list(files.getlist(name)) if hasattr(files, "getlist") else []

    use_fieldset = True

    def value_omitted_from_data(self, _data: Any, _files: Any, _name: str) -> bool:
        """A form without a photo has none; it was not left out."""
        return False


class PhotosField(forms.Field):
    """Several photos; the value is the list of uploaded files."""

    widget = ManyPhotos

    def __init__(self) -> None:
        super().__init__(
            label=say("Photos"),
            required=False,
            help_text=say(
                "JPEG, PNG or WebP, up to 8 MB each. Where it was taken is not kept. No faces, "
                "please."
            ),
        )


class WithPhotos(PageForm):
    """A form that takes photos along; ``photo_numbers`` are the kept files once it is valid."""

    photos = PhotosField()
    kept = forms.CharField(required=False, max_length=2_000, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.photo_numbers: list[int] = []
        self.hints: list[str] = []
        self.texts: set[str] = set()

    def clean(self) -> dict[str, Any]:
        """Judge and keep each photo; a refused one is named, and the good ones stay."""
        data = super().clean() or {}
        self.photo_numbers = _numbers(data.get("kept", ""))
        sent = data.get("photos") or []
        if self.data.get(FILES_LOST) and not sent:
            self.add_error("photos", lost())
        if len(sent) > MOST_AT_ONCE:
            says = _("At most %(most)s photos at once; none of these was kept.")
            self.add_error("photos", says % {"most": MOST_AT_ONCE})
            sent = []
        for file in sent:
            try:
                self._keep(file)
            except Refused as refused:
                named = {"name": shown_name(file.name), "why": told(refused.says)}
                self.add_error("photos", _("%(name)s was not kept. %(why)s") % named)
        self._carry_on()
        return data

    def _carry_on(self) -> None:
        """Put the numbers of what was kept into the form, for when it is shown again."""
        if self.photo_numbers:
            carried = QueryDict(mutable=True)
            carried.update(self.data)
            carried["kept"] = signing.dumps(self.photo_numbers, salt=_SALT)
            self.data = carried
        self.fields["photos"].widget.attrs["kept"] = len(self.photo_numbers)

    def _keep(self, file: "UploadedFile[Any]") -> None:
        photo = photos.judged(_read(file, most=photos.MOST_BYTES))
        number = filing.keep(photo.content, at=timezone.now()).pk
        if number not in self.photo_numbers:
            self.photo_numbers.append(number)
        self.texts |= set(photo.texts)
        if photo.hint:
            self.hints.append(f"{shown_name(file.name)}: {told(photo.hint)}")

    def others_in_view(self, own: Iterable[str], hosts: Collection[str]) -> list[str]:
        """Tags of ours that a photo shows and that are not among ``own``."""
        found = [codes.extract(text, hosts) for text in sorted(self.texts)]
        seen = {one.code for one in found if isinstance(one, codes.Found)}
        return [codes.show(code) for code in sorted(seen - set(own))]


def lost() -> str:
    """What is said where a phone locked while files were on their way."""
    return _("The phone locked before the files came through. Choose them again.")


def keep_trace(file: "UploadedFile[Any] | None") -> int | None:
    """Keep a trace: a PDF untouched, a picture made anew; raises ``ValidationError``."""
    if file is None:
        return None
    try:
        data = _read(file, most=papers.MOST_BYTES)
        content = papers.judged(data) if data.startswith(b"%PDF-") else photos.judged(data).content
        return filing.keep(content, at=timezone.now()).pk
    except Refused as refused:
        named = {"name": shown_name(file.name), "why": told(refused.says)}
        raise ValidationError(_("%(name)s was not kept. %(why)s") % named) from refused


def keep_paper(file: "UploadedFile[Any]") -> int:
    """Keep a lab's paper untouched; raises :class:`Refused`."""
    content = papers.judged(_read(file, most=papers.MOST_BYTES))
    return filing.keep(content, at=timezone.now()).pk


def _read(file: "UploadedFile[Any]", *, most: int) -> bytes:
    """The bytes; of one that is too large no more than it takes to see that."""
    file.seek(0)
    data: bytes = file.read(most + 1)
    return data


def _numbers(signed: str) -> list[int]:
    """The kept photos that a form names; an old or altered field names none."""
    try:
        numbers: list[int] = signing.loads(signed, salt=_SALT, max_age=_KEPT_SECONDS)
    except signing.BadSignature:
        return []
    return list(StoredFile.objects.filter(pk__in=numbers).values_list("pk", flat=True))
