"""In which language and units a page is read: chosen by the person, else asked of the browser.

Staff choose on their own page. Everybody else chooses by the address (``?language=fr``,
``?units=metric``): the choice is kept in a cookie of its own and changes nothing else. Without a
choice the browser's languages decide, and pressures are shown as stamped. The labs' interface and
whatever else machines read speak English always.
"""

from collections.abc import Callable
from typing import TypeAlias

from django.conf import settings
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse
from django.utils import translation
from django.utils.cache import patch_vary_headers

from api import units
from api.models import Preference

Answer: TypeAlias = Callable[[HttpRequest], HttpResponse]

UNITS_COOKIE = "units"
_A_YEAR = 365 * 24 * 3600  # seconds
_STAFF = "/bench/"
_MACHINES = ("/api/", "/livez", "/readyz", "/.well-known/", "/robots.txt")


class Chosen:
    """Answer in the language and the units of whoever asks."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Choose, answer, and keep what was chosen by the address."""
        if request.path.startswith(_MACHINES):
            with translation.override("en"):
                return self.get_response(request)
        own = _preference(request)
        language = _language(request, own)
        with translation.override(language), units.reading(_units(request, own)):
            request.LANGUAGE_CODE = language
            response = self.get_response(request)
        response.headers.setdefault("Content-Language", language)
        patch_vary_headers(response, ["Accept-Language", "Cookie"])
        _keep(request, response)
        return response


def _preference(request: HttpRequest) -> Preference | None:
    """What a signed-in member of staff chose; None for everybody else."""
    if not request.path.startswith(_STAFF) or isinstance(request.user, AnonymousUser):
        return None
    return Preference.objects.filter(user_id=request.user.pk).first()


def _language(request: HttpRequest, own: Preference | None) -> str:
    known = dict(settings.LANGUAGES)
    asked = request.GET.get("language", "")
    if asked in known and not request.path.startswith(_STAFF):
        return asked
    if own is not None and own.language in known:
        return own.language
    return translation.get_language_from_request(request)


def _units(request: HttpRequest, own: Preference | None) -> units.Units:
    if own is not None:
        return units.Units(own.pressure_unit, own.volume_unit)
    if request.path.startswith(_STAFF):
        return units.AS_STAMPED
    asked = request.GET.get("units", request.COOKIES.get(UNITS_COOKIE, ""))
    return units.SYSTEMS.get(asked, units.AS_STAMPED)


def _keep(request: HttpRequest, response: HttpResponse) -> None:
    """Set the cookies of what the address chose; each says a word of a short list and no more."""
    if request.path.startswith(_STAFF):
        return
    languages = [code for code, _ in settings.LANGUAGES]
    chosen = (
        (settings.LANGUAGE_COOKIE_NAME, request.GET.get("language", ""), languages),
        (UNITS_COOKIE, request.GET.get("units", ""), [*units.SYSTEMS]),
    )
    for name, value, known in chosen:
        if value in known:
            response.set_cookie(
                name,
                value,
                max_age=_A_YEAR,
                secure=settings.PRODUCTION,
                httponly=True,
                samesite="Lax",
            )
