"""The pages with a camera: one that opens what it sees, and one for each work that scans on and on.

Each of the latter is the page of that work itself, with the camera where its scan field stands: the
same forms, lists and counts, so the server judges every scan as it does without a camera.
"""

from dataclasses import replace
from typing import Any, ClassVar
from urllib.parse import urlencode

from django.forms import Form
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages.bench.cylinder import CylinderPage
from api.pages.bench.reassembly import Reassembly
from api.pages.bench.resolve import our_hosts
from api.pages.bench.runs import RunsIn, RunTo
from api.pages.bench.teardown import Teardown
from api.pages.page import FAULTS, BenchPage, StaffView
from api.pages.scanner import photo
from api.pages.told import Told
from cylinders.models import Cylinder
from cylinders.rules.refusal import Refused

PHOTO = "photo"
NOT_YOURS = 403


class OpenByCamera(StaffView):
    """Whatever is scanned here is opened, as from the scan field of any page."""

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show the camera."""
        return self._show(request, None)

    def post(self, request: HttpRequest) -> HttpResponse:
        """Read a photo and open what it shows; two tags in it are asked about."""
        read = photo.read(request)
        if len(read.seen) == 1 and read.codes:
            return HttpResponseRedirect(f"{reverse('scan')}?{urlencode({'code': read.codes[0]})}")
        return self._show(request, read, status=FAULTS)

    def _show(
        self, request: HttpRequest, read: photo.PhotoRead | None, *, status: int = 200
    ) -> HttpResponse:
        context = {"read": read, "hosts": sorted(our_hosts(request))}
        return render(request, "pages/scanner/open.html", context, status=status)


class _ByCamera(BenchPage):
    """What the camera adds to a page of scans."""

    read: photo.PhotoRead | None = None
    stays: ClassVar[bool] = True

    def act(self, name: str, form: Form) -> Told:
        """Come back to the camera where the work would come back to its page without one."""
        told = super().act(name, form)
        plain = self.request.path.removesuffix("camera/")
        return replace(told, goto=self.request.path) if self.stays and told.goto == plain else told

    def context(self) -> dict[str, Any]:
        """What the camera must know, and what was read from a photo."""
        hosts = sorted(our_hosts(self.request))
        return super().context() | {"read": self.read, "hosts": hosts}

    def post(self, request: HttpRequest, **address: Any) -> HttpResponse:
        """Read a photo, or do what the page does; never what another person scanned."""
        mine = str(self.user.pk)
        if request.headers.get("X-Scanned-By", mine) != mine:
            self.prepare()
            return self.show(request, status=NOT_YOURS)
        if request.POST.get("do") != PHOTO:
            return super().post(request, **address)
        self.prepare()
        self.read = photo.read(request)
        return self.show(request, status=200 if self.read.codes else FAULTS)


class FitByCamera(_ByCamera, Reassembly):
    """Bags are scanned to their cylinder, one after the other."""

    template: ClassVar[str] = "pages/scanner/fit.html"

    def context(self) -> dict[str, Any]:
        """The version of the cylinder's history that the page shows."""
        return super().context() | {"version": self._version()}

    def act(self, name: str, form: Form) -> Told:
        """Refuse a scan that was kept on a phone while others went on with the cylinder."""
        based_on = self.request.headers.get("X-Based-On", "")
        if based_on and based_on != str(self._version()):
            says = _(
                "Somebody has worked on this cylinder since that was scanned. Nothing was "
                "done. Look at the list, then scan it again."
            )
            raise Refused("changed_since", says)
        return super().act(name, form)

    def _version(self) -> int:
        return Cylinder.objects.values_list("events_held", flat=True).get(pk=self.order.cylinder_id)


class PackByCamera(_ByCamera, RunTo):
    """Bare cylinders are scanned into the run of a lab."""

    template: ClassVar[str] = "pages/scanner/pack.html"


class TakeInByCamera(_ByCamera, RunsIn):
    """What comes home from a lab is scanned in."""

    stays: ClassVar[bool] = False  # the list of what nobody expected goes by the page's own address
    template: ClassVar[str] = "pages/scanner/take_in.html"


class BindByCamera(_ByCamera, CylinderPage):
    """The blank tag that was put on a cylinder is scanned."""

    template: ClassVar[str] = "pages/scanner/bind.html"


class TagByCamera(_ByCamera, Teardown):
    """A blank tag is scanned for each part that came off."""

    template: ClassVar[str] = "pages/scanner/tag.html"
