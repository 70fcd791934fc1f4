"""The photos of one cylinder: added at the bench, and chosen, one by one, for the owner's page."""

from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from api import file_answers
from api.pages import fields
from api.pages.bench.resolve import our_hosts
from api.pages.page import BenchPage, Forms, StaffView
from api.pages.told import Told, Tone
from api.pages.uploads import WithPhotos
from cylinders.models import Attachment, Cylinder, Shows
from cylinders.operations import filing
from cylinders.queries import stored_files
from cylinders.rules.wording import say
from labels.models import Tag, TagState

_OF_A_PHOTO = (
    *(Shows.WHOLE, Shows.STAMP, Shows.DAMAGE, Shows.INSIDE),
    *(Shows.THREADS, Shows.PARTS, Shows.OTHER),
)


class AddPhotos(WithPhotos):
    """What the photos show, and the photos."""

    shows = fields.pick(say("What they show"), [(one.value, str(one.label)) for one in _OF_A_PHOTO])


class ForOwner(fields.PageForm):
    """The photos that the owner sees."""

    chosen = forms.TypedMultipleChoiceField(coerce=int, required=False)


@dataclass(frozen=True, slots=True)
class Shown:
    """One photo as the page shows it; ``whole`` is false where its bytes are gone or altered."""

    photo: Attachment
    whole: bool


class Photos(BenchPage):
    """Add, look, choose."""

    template = "pages/bench/photos.html"
    forms: ClassVar[Forms] = {"add": AddPhotos, "show": ForOwner}
    cylinder: Cylinder
    photos: list[Attachment]

    def prepare(self) -> None:
        """Load the cylinder and its photos."""
        found = Cylinder.objects.select_related("owner").filter(pk=self.kwargs["pk"]).first()
        if found is None:
            raise Http404(f"no cylinder {self.kwargs['pk']}")
        self.cylinder = found
        self.photos = stored_files.photos(found)

    def bind(self, name: str, data: Any = None) -> fields.PageForm:
        """Only photos of this cylinder can be chosen."""
        form = super().bind(name, data)
        chosen = form.fields.get("chosen")
        if isinstance(chosen, forms.TypedMultipleChoiceField):
            chosen.choices = [(photo.pk, str(photo.pk)) for photo in self.photos]
        return form

    def context(self) -> dict[str, Any]:
        """The photos, each with whether its bytes are still what was stored."""
        return {
            "cylinder": self.cylinder,
            "order": self.cylinder.work_orders.filter(closed_at__isnull=True).first(),
            "photos": [Shown(photo, stored_files.is_whole(photo.file)) for photo in self.photos],
        }

    def act(self, _name: str, form: Form) -> Told:
        """Add the photos, or let the owner see just the chosen ones."""
        if isinstance(form, AddPhotos):
            return self._add(form)
        added, withdrawn = filing.show_to_owner(
            cylinder_id=self.cylinder.pk,
            chosen=form.cleaned_data["chosen"],
            at=self.at,
            by=self.by,
        )
        figures = {"added": added, "withdrawn": withdrawn}
        return Told(_("The owner now sees %(added)s more, %(withdrawn)s no longer.") % figures)

    def _add(self, form: AddPhotos) -> Told:
        new = filing.add_photos(
            cylinder_id=self.cylinder.pk,
            files=form.photo_numbers,
            shows=form.cleaned_data["shows"],
            at=self.at,
            by=self.by,
        )
        says = [ngettext("%(new)s photo added.", "%(new)s photos added.", new) % {"new": new}]
        again = len(form.photo_numbers) - new
        if again:
            says.append(_("%(again)s came before and is kept once.") % {"again": again})
        own = Tag.objects.filter(cylinder=self.cylinder, state=TagState.LIVE)
        own |= Tag.objects.filter(part__cylinder=self.cylinder, state=TagState.LIVE)
        others = form.others_in_view(own.values_list("code", flat=True), our_hosts(self.request))
        if others:
            tags = {"tags": ", ".join(others)}
            says.append(
                _("A tag of something else is in view: %(tags)s. Is it the right one?") % tags
            )
        tone = Tone.CAUTION if others or form.hints else Tone.OK
        return Told(" ".join([*says, *form.hints]), tone=tone)


class File(StaffView):
    """The bytes of one file of a cylinder, for staff."""

    def get(self, _request: HttpRequest, pk: int) -> HttpResponse:
        """Give it."""
        found = Attachment.objects.select_related("file").filter(pk=pk).first()
        if found is None:
            raise Http404(f"no file {pk}")
        return file_answers.answer(found)
