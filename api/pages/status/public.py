"""The page behind a tag, for whoever scans it: mostly the attendant of a fill station.

Poor on purpose, and the same for everybody: nothing here tells of a person, a place or another
cylinder. It never asks for a password or a payment, so a false tag has nothing to imitate.

It is the hottest page of all. One query brings everything that it follows from; a page that was
made from the very same values, on the same day, in the same language and units, is shown again.
Templates get values only, never the request: nothing of one reader can reach another.
"""

import datetime as dt
from collections.abc import Collection

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.cache import get_conditional_response, patch_vary_headers
from django.utils.translation import get_language

from api import units
from api.pages.status import guesses, kept
from cylinders.models import Shop
from cylinders.queries.for_stranger import for_stranger
from cylinders.queries.shop_day import shop_day, zone_of
from cylinders.rules.verdict import Outcome
from labels import codes, glance
from labels.codes import show
from labels.glance import Glance
from labels.models import TagState
from labels.scanning import Unnamed, identify

#: Seconds for which a copy of the page may be shown; a wrong code is soon asked again.
FRESH, FRESH_UNKNOWN = 60, 10
_NOT_FOUND, _GONE, _TOO_MANY = 404, 410, 429
_GAS = {"air": "Air", "nitrox": "Enriched air (nitrox)", "oxygen": "Oxygen"}
_CLEAN = {True: "Yes", False: "No", None: "Not known"}


def public_page(request: HttpRequest, text: str, *, hosts: Collection[str]) -> HttpResponse:
    """Show a stranger what ``text`` names; staff have other pages at the same address."""
    read = codes.extract(text, hosts)
    if isinstance(read, codes.Refused):
        # Nothing is kept of it, since anything can arrive.
        status = 200 if read.reason == "empty" else _NOT_FOUND
        body = _unknown(text, hosts).encode()
        return _answer(request, kept.Kept(body, ""), seconds=FRESH_UNKNOWN, status=status)
    unknown = kept.name_of("unknown", read.code, read.shown, get_language())
    known_unknown = kept.look(unknown)
    if known_unknown:
        return _none_such(request, known_unknown)
    seen = glance.at(read.code)
    if seen is None:
        page = kept.page(unknown, lambda: _unknown(text, hosts), seconds=FRESH_UNKNOWN)
        return _none_such(request, page)
    return _known(request, seen)


def _none_such(request: HttpRequest, page: kept.Kept) -> HttpResponse:
    """No tag bears this code: told a few times a minute to one address, so guessing is slow."""
    if not guesses.too_many(request, what="tag"):
        return _answer(request, page, seconds=FRESH_UNKNOWN, status=_NOT_FOUND)
    response = HttpResponse(page.body, status=_TOO_MANY)
    response.headers["Retry-After"] = str(guesses.SECONDS)
    response.headers["Referrer-Policy"] = "no-referrer"
    return response


def _known(request: HttpRequest, seen: Glance) -> HttpResponse:
    at = timezone.now()
    day = shop_day(at, zone=zone_of(seen.shop()))
    key = kept.name_of(seen.values, day.on, get_language(), units.present())
    page = kept.page(key, lambda: _made(seen, on=day.on))
    # At midnight a cylinder can go out of date: no copy lives longer than its day.
    seconds = min(FRESH, int((day.ends - at).total_seconds()))
    status = _GONE if seen.state is TagState.RETIRED else 200
    return _answer(request, page, seconds=seconds, status=status)


def _made(seen: Glance, *, on: dt.date) -> str:
    context = {"code": show(seen.code), "plain": seen.code, "shop": seen.shop()}
    if seen.stands_for_cylinder:
        return render_to_string("status/public.html", context | _facts(seen, on=on))
    live = seen.state is TagState.LIVE
    return render_to_string("status/part.html" if live else "status/unused.html", context)


def _facts(seen: Glance, *, on: dt.date) -> dict[str, object]:
    shop = seen.shop()
    told = for_stranger(seen.cylinder(), on=on, country=shop.country if shop else None)
    failed = any(reason.outcome is Outcome.FAIL for reason in told.verdict.reasons)
    tone = "ok" if told.verdict.allowed else "fail" if failed else "unknown"
    word = {"ok": "IN DATE", "fail": "DO NOT FILL", "unknown": "NOT KNOWN"}[tone]
    return {
        "told": told,
        "tone": tone,
        "word": word,
        "gas": _GAS[told.gas],
        "clean": _CLEAN[told.oxygen_clean],
        "on": on,
    }


def _unknown(text: str, hosts: Collection[str]) -> str:
    named = identify(text, hosts=hosts)
    says, shown = (named.says, named.shown) if isinstance(named, Unnamed) else ("", "")
    asked = not (isinstance(named, Unnamed) and named.reason == "empty")
    context = {"asked": asked, "says": says, "shown": shown, "shop": Shop.objects.first()}
    return render_to_string("status/unknown.html", context)


def _answer(request: HttpRequest, page: kept.Kept, *, seconds: int, status: int) -> HttpResponse:
    response = HttpResponse(page.body, status=status)
    response.headers["Cache-Control"] = f"public, max-age={seconds}"
    response.headers["Referrer-Policy"] = "no-referrer"
    patch_vary_headers(response, ["Cookie"])  # staff are sent on from the same address
    if not page.etag or status != 200:  # noqa: PLR2004 - only a good answer is asked for again
        return response
    response.headers["ETag"] = page.etag
    return get_conditional_response(request, etag=page.etag, response=response) or response
