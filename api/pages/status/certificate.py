"""The certificate of one test behind the owner's link, and the page that checks one offline."""

from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_safe

from api import certificates, signing_keys
from api.links import cylinders_of, open_link
from api.middleware import unlisted
from api.models import StatusLink
from api.pages.status.certificate_paper import paper
from api.pages.status.page import no_link
from api.wording import amount, told, with_sign
from cylinders.models import RecordState, Shop, TestRecord
from cylinders.queries.for_stranger import in_both
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity
from cylinders.rules.refusal import Refused
from labels import qr
from labels.fonts import GlyphMissing
from labels.qr import Symbol

_NOT_FOUND, _REFUSED = 404, 422
#: QR versions, smallest first, that hold a certificate and can still be read from paper.
_VERSIONS = range(10, 27)
_QUIET = 4  # modules
_KEYS_FRESH = 3600  # seconds
_WORKER = Path(__file__).parents[1] / "static" / "status" / "verify-worker.js"
_PAGE_FRESH = 24 * 3600  # for a day a phone can check without a network


@require_safe
@unlisted
def certificate(
    request: HttpRequest, token: str, number: int, *, as_paper: bool = False
) -> HttpResponse:
    """Show the certificate of test record ``number`` of the cylinder behind ``token``."""
    at = timezone.now()
    link = open_link(token, at=at)
    if not isinstance(link, StatusLink):
        return no_link(request, link)
    records = TestRecord.objects.filter(cylinder__in=cylinders_of(link), state=RecordState.ATTACHED)
    record = records.select_related("cylinder", "lab").filter(pk=number, verdict="passed").first()
    if record is None:
        context = {"shop": Shop.objects.first(), "ended": False}
        return render(request, "status/no_link.html", context, status=_NOT_FOUND)
    signed = certificates.sign(record, at=at)
    address = f"{settings.PUBLIC_URL}{reverse('verify')}#{signed}"
    symbol = _symbol(signed)
    shop = Shop.objects.first()
    facts = facts_of(certificates.check(signed).claims)
    if as_paper:
        return _as_pdf(facts, lab=record.lab.name, shop=shop, symbol=symbol)
    shown: dict[str, Any] = {
        "shop": shop,
        "facts": facts,
        "number": number,
        "signed": signed,
        "address": address,
        "symbol": symbol,
        "side": symbol.size + 2 * _QUIET if symbol else 0,
        "token": token,
        "lab": record.lab.name,
    }
    return render(request, "status/certificate.html", shown)


def _as_pdf(
    facts: list[tuple[str, str]], *, lab: str, shop: Shop | None, symbol: Symbol | None
) -> HttpResponse:
    address = f"{settings.PUBLIC_URL}{reverse('verify')}"
    name = shop.name if shop else _("The shop")
    try:
        body = paper(facts, lab=lab, shop=name, symbol=symbol, address=address)
    except GlyphMissing as missing:
        return HttpResponse(f"{missing}\n", content_type="text/plain", status=_REFUSED)
    headers = {"Content-Disposition": 'inline; filename="certificate.pdf"'}
    return HttpResponse(body, content_type="application/pdf", headers=headers)


@csrf_exempt  # it only answers; the page must also work where no cookie is kept
@require_http_methods(["GET", "HEAD", "POST"])
def verify(request: HttpRequest) -> HttpResponse:
    """GET: the page that checks a certificate in the browser. POST: the same check done here."""
    context: dict[str, Any] = {"shop": Shop.objects.first(), "keys": signing_keys.public()}
    status = 200
    if request.method == "POST":
        text = request.POST.get("certificate", "").rpartition("#")[2]
        try:
            context["facts"] = facts_of(certificates.check(text).claims)
        except Refused as refused:
            context["refused"] = refused
            status = _REFUSED
    response = render(request, "status/verify.html", context, status=status)
    if request.method != "POST":
        response.headers["Cache-Control"] = f"public, max-age={_PAGE_FRESH}"
    return response


@require_safe
def verify_worker(_request: HttpRequest) -> HttpResponse:
    """The script that opens the checking page without a network; from the root, for its scope."""
    response = HttpResponse(_WORKER.read_bytes(), content_type="text/javascript; charset=utf-8")
    response.headers["Cache-Control"] = f"public, max-age={_KEYS_FRESH}"
    return response


@require_safe
def key_set(_request: HttpRequest) -> HttpResponse:
    """The public keys (RFC 7517), for whoever checks certificates with a program."""
    response = JsonResponse(signing_keys.public(), content_type="application/jwk-set+json")
    response.headers["Cache-Control"] = f"public, max-age={_KEYS_FRESH}"
    response.headers["Access-Control-Allow-Origin"] = "*"
    return response


def facts_of(claims: dict[str, Any]) -> list[tuple[str, str]]:
    """What a certificate says, line by line, for a person."""
    next_due = claims["next_due"]
    end = date_format(Month.parse(next_due).last_day, "d F Y") if next_due else ""
    lines = [
        (_("Specification"), claims["mark"]),
        (_("Service pressure"), told(in_both(_quantity(claims["pressure"])))),
        (_("Serial"), claims["serial"]),
        (_("Maker's mark"), claims["maker"]),
        (_("Tested on"), claims["date"]),
        (_("Method"), told(claims["method"].replace("_", " "))),
        (_("Test pressure"), told(in_both(_quantity(claims["test_pressure"])))),
        (_("Total expansion"), _plain(claims["total"])),
        (_("Permanent expansion"), _plain(claims["permanent"])),
        (_("Share that stayed"), with_sign(f"{claims['percent']} %") if claims["percent"] else ""),
        (_("Result as recorded"), told(claims["verdict"])),
        (_("Good through"), end),
        (_("Requalifier's number"), claims["rin"]),
        (_("Lab's record"), claims["record"]),
    ]
    return [(name, value) for name, value in lines if value]


def _quantity(value: dict[str, str] | None) -> Quantity | None:
    return Quantity(Decimal(value["value"]), value["unit"]) if value else None


def _plain(value: dict[str, str] | None) -> str:
    quantity = _quantity(value)
    return amount(quantity) if quantity else ""


@lru_cache(maxsize=64)
def _symbol(signed: str) -> Symbol | None:
    """The checking address as the smallest symbol that holds it; None where none on paper does.

    Host and path are written in capitals, which take less room, and split so that the text does not
    end on a whole byte, where the encoders disagree about the padding.
    """
    scheme, _, rest = settings.PUBLIC_URL.partition("://")
    capitals = f"://{rest}{reverse('verify')}".upper()
    ends_on_a_byte = (3 + 11 * (len(capitals) // 2) + 6 * (len(capitals) % 2)) % 8 == 0
    kept = len(capitals) - ends_on_a_byte
    segments: tuple[qr.Segment, ...] = (
        (scheme, "byte"),
        (capitals[:kept], "alphanumeric"),
        (f"{capitals[kept:]}#{signed}", "byte"),
    )
    for version in _VERSIONS:
        try:
            return qr.make(segments, version=version, level="L")
        except ValueError:
            continue
    return None
