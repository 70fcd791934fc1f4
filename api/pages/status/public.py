"""The page behind a tag, for whoever scans it: mostly the attendant of a fill station.

Poor on purpose, and the same for everybody: nothing here tells of a person, a place or another
cylinder. It never asks for a password or a payment, so a false tag has nothing to imitate.
"""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext as _

from cylinders.models import Cylinder, Shop
from cylinders.queries.for_stranger import for_stranger
from cylinders.queries.shop_day import shop_day, zone_of
from cylinders.rules.verdict import Outcome
from cylinders.rules.wording import say
from labels.codes import show
from labels.models import TagKind
from labels.scanning import Named, ScanState, Unnamed

#: Seconds for which a copy of the page may be shown; a wrong code is soon asked again.
FRESH, FRESH_UNKNOWN = 60, 10
_NOT_FOUND, _GONE = 404, 410
_GAS = {"air": say("Air"), "nitrox": say("Enriched air (nitrox)"), "oxygen": say("Oxygen")}
_CLEAN = {True: say("Yes"), False: say("No"), None: say("Not known")}


def public_page(request: HttpRequest, named: Named | Unnamed) -> HttpResponse:
    """Show a stranger what ``named`` is; staff have other pages at the same address."""
    if isinstance(named, Unnamed):
        return _unknown(request, named)
    whole = named.state is ScanState.LIVE and named.kind in (TagKind.CYLINDER, TagKind.TEARDOWN)
    if not whole or named.cylinder is None:
        template = "status/part.html" if named.state is ScanState.LIVE else "status/unused.html"
        status = _GONE if named.state is ScanState.RETIRED else 200
        return _page(request, template, _code(named), seconds=FRESH, status=status)
    return _page(request, "status/public.html", _facts(named, named.cylinder), seconds=FRESH)


def _facts(named: Named, cylinder: Cylinder) -> dict[str, object]:
    shop = Shop.objects.first()
    at = timezone.now()
    told = for_stranger(cylinder, on=shop_day(at, zone=zone_of(shop)).on)
    failed = any(reason.outcome is Outcome.FAIL for reason in told.verdict.reasons)
    tone = "ok" if told.verdict.allowed else "fail" if failed else "unknown"
    word = {"ok": _("IN DATE"), "fail": _("DO NOT FILL"), "unknown": _("NOT KNOWN")}[tone]
    return {
        **_code(named),
        "told": told,
        "tone": tone,
        "word": word,
        "gas": _GAS[told.gas],
        "clean": _CLEAN[told.oxygen_clean],
        "on": shop_day(at, zone=zone_of(shop)).on,
    }


def _code(named: Named) -> dict[str, object]:
    return {"code": show(named.tag.code), "plain": named.tag.code}


def _unknown(request: HttpRequest, unnamed: Unnamed) -> HttpResponse:
    asked = unnamed.reason != "empty"
    context = {"asked": asked, "says": unnamed.says, "shown": unnamed.shown}
    status = _NOT_FOUND if asked else 200
    return _page(request, "status/unknown.html", context, seconds=FRESH_UNKNOWN, status=status)


def _page(
    request: HttpRequest,
    template: str,
    context: dict[str, object],
    *,
    seconds: int,
    status: int = 200,
) -> HttpResponse:
    context = context | {"shop": Shop.objects.first()}
    response = render(request, template, context, status=status)
    response.headers["Cache-Control"] = f"public, max-age={seconds}"
    response.headers["Referrer-Policy"] = "no-referrer"
    patch_vary_headers(response, ["Cookie"])  # staff are sent on from the same address
    return response
