"""Tags: what each stands for, its print as picture and as PDF, binding, replacing, retiring."""

from typing import Any, ClassVar

from django.conf import settings
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages import fields
from api.pages.bench.order import next_of
from api.pages.page import BenchPage, Forms, StaffView
from api.pages.told import Told
from api.wording import told
from cylinders.models import Part, WorkOrder
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say
from labels import render_pdf, render_raster, render_svg
from labels.codes import show
from labels.content import content_of
from labels.fonts import GlyphMissing
from labels.models import Tag, TagState
from labels.operations import binding
from labels.sheets.drawing import Content, draw
from labels.sheets.media import MEDIA
from labels.sheets.text import DoesNotFit

RESOLUTIONS = {"203": 203, "300": 300}
FACES = "0123456789"
ROLL = "62mm"


def bench_host() -> str:
    """The host in the address of every new tag."""
    return str(settings.TAG_HOST)


def part_of_visit(order: WorkOrder, part_id: int) -> Part:
    """The part with that number that came off at ``order``; raises :class:`Refused`."""
    part = order.parts.filter(pk=part_id).first()
    if part is None:
        raise Refused("unknown_part", _("That part was not taken off at this visit."))
    return part


def find_tag(code: str) -> Tag:
    """The tag with that very code, or a page that says there is none."""
    found = Tag.objects.select_related("cylinder", "part", "work_order", "successor")
    tag = found.filter(code=code).first()
    if tag is None:
        raise Http404(f"no tag {code}")
    return tag


class Replace(fields.PageForm):
    """Why the tag on the metal is replaced."""

    reason = fields.line(say("Why is it replaced?"), hint=say("Torn, lost, illegible ..."))


class Retire(fields.PageForm):
    """Why the tag is taken out of use."""

    reason = fields.line(say("Why is it retired?"), hint=say("Lost, fixed to the wrong thing ..."))


class TagPage(BenchPage):
    """One tag: print it, or take it out of use."""

    template = "pages/bench/tag.html"
    forms: ClassVar[Forms] = {"replace": Replace, "retire": Retire}
    tag: Tag

    def prepare(self) -> None:
        """Load the tag."""
        self.tag = find_tag(self.kwargs["code"])

    def context(self) -> dict[str, Any]:
        """The tag, its thing, and what to do after printing."""
        tag = self.tag
        order = tag.work_order
        content = content_of(tag)
        return {
            "tag": tag,
            "shown": show(tag.code),
            "live": tag.state == TagState.LIVE,
            "fault": why_not_printable(content),
            "faces": range(len(content.faces())),
            "media": [name for name in MEDIA if name != ROLL],
            "roll": ROLL,
            "next": next_of(order) if order and not order.closed_at else None,
        }

    def act(self, name: str, form: Form) -> Told:
        """Replace or retire."""
        reason = form.cleaned_data["reason"]
        if name == "replace":
            new = binding.replace(
                code=self.tag.code, host=bench_host(), reason=reason, at=self.at, by=self.by
            )
            goto = reverse("tag", args=[new.code])
            return Told(_("The old tag is retired. Print this one and fix it on."), goto)
        binding.retire(code=self.tag.code, reason=reason, at=self.at, by=self.by)
        return Told(_("Retired. The code stands for nothing from now on."))


class TagPicture(StaffView):
    """The print of a tag: PNG in the printer's dots, SVG for looking, PDF on a medium."""

    def get(self, request: HttpRequest, code: str, form: str) -> HttpResponse:
        """Render it; the same tag gives the same bytes."""
        return printed(request, content_of(find_tag(code)), form, title=f"tag {code}")


def printed(
    request: HttpRequest,
    content: Content,
    form: str,
    *,
    title: str,
    medium: str = ROLL,
) -> HttpResponse:
    """``content`` as ``form`` ("svg", "png" or "pdf"), as the address's question asks for it."""
    fault = why_not_printable(content)
    if fault:
        return HttpResponse(fault, content_type="text/plain; charset=utf-8", status=422)
    if form == "pdf":
        asked = request.GET.get("on", medium)
        pages = render_pdf.pdf([content], MEDIA.get(asked, MEDIA[medium]), title=title)
        return HttpResponse(pages, content_type="application/pdf")
    asked = request.GET.get("face", "0")
    face = int(asked) if asked in FACES and int(asked) < len(content.faces()) else 0
    if form == "svg":
        return HttpResponse(render_svg.svg(content, face=face), content_type="image/svg+xml")
    dpi = RESOLUTIONS.get(request.GET.get("dpi", ""), 203)
    picture = render_raster.png(content, dpi=dpi, face=face)
    return HttpResponse(picture, content_type="image/png")


def why_not_printable(content: Content) -> str:
    """Which text cannot be printed whole, as a sentence; empty when all can."""
    try:
        for face in content.faces():
            draw(face)
    except (DoesNotFit, GlyphMissing) as fault:
        return _("This tag cannot be printed as it stands: %(fault)s.") % {
            "fault": told(str(fault))
        }
    return ""
