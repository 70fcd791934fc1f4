"""From a scan to the one page where the work on that thing goes on."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views import View

from api.pages.bench.order import next_of
from api.pages.bench.resolve import our_hosts, scanned
from api.pages.page import StaffView
from api.pages.status.public import public_page
from cylinders.models import Cylinder
from cylinders.rules.wording import say
from labels.codes import show
from labels.scanning import Named, ScanState, Unnamed

UNKNOWN = 404
_WORDS = {
    "unknown": say("UNKNOWN CODE"),
    "check": say("MISREAD CODE"),
    "length": say("NOT A WHOLE CODE"),
}


class Scan(StaffView):
    """The scan field of every bench page: what arrived is named, never followed."""

    def get(self, request: HttpRequest) -> HttpResponse:
        """Go to the thing, or say what arrived instead."""
        return staff_answer(request, request.GET.get("code", ""))


class TagAddress(View):
    """The address on every tag: staff go on as from a scan, a stranger sees the public page."""

    def get(self, request: HttpRequest, code: str = "") -> HttpResponse:
        """Answer by who asks; ``code`` may be typed into the address or into the page."""
        text = code or request.GET.get("code", "")
        if request.user.is_authenticated and request.user.is_staff:
            return HttpResponseRedirect(f"{reverse('scan')}?{urlencode({'code': text})}")
        return public_page(request, text, hosts=our_hosts(request))


def staff_answer(request: HttpRequest, text: str) -> HttpResponse:
    """Where a member of staff lands with that scan."""
    named = scanned(request, text)
    if isinstance(named, Unnamed):
        return _unnamed(request, named)
    if named.state is ScanState.BLANK:
        blank = {"code": named.tag.code, "shown": show(named.tag.code)}
        return render(request, "pages/bench/blank_tag.html", blank)
    if named.state is not ScanState.LIVE or named.cylinder is None:
        context = {
            "tag": named.tag,
            "shown": show(named.tag.code),
            "successor": named.successor,
        }
        return render(request, "pages/bench/retired.html", context)
    return HttpResponseRedirect(landing(named, named.cylinder))


def landing(named: Named, cylinder: Cylinder) -> str:
    """The page of the one next action for a live tag's thing."""
    order = named.work_order or cylinder.work_orders.filter(closed_at__isnull=True).first()
    if order is None or order.closed_at:
        return reverse("cylinder", args=[cylinder.pk])
    return next_of(order).url


def _unnamed(request: HttpRequest, unnamed: Unnamed) -> HttpResponse:
    context = {
        "asked": unnamed.reason != "empty",
        "word": _WORDS.get(unnamed.reason, "NOT OUR TAG"),
        "says": unnamed.says,
        "shown": unnamed.shown,
        "maybe": [(code, show(code)) for code in unnamed.maybe],
    }
    status = 200 if unnamed.reason == "empty" else UNKNOWN
    return render(request, "pages/bench/unknown.html", context, status=status)
