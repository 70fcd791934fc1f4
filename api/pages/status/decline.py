"""No more messages, with one tap (RFC 8058): only a POST does it, so no mail scanner can.

The POST of a mail program brings no cookie and no token of ours, so the usual check for forged
forms is left out here; the signed address is the proof.
"""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from api import declining
from api.middleware import unlisted
from api.pages.status import guesses
from cylinders.models import Declined, Shop

_NOT_FOUND, _TOO_MANY = 404, 429


@csrf_exempt
@require_http_methods(["GET", "HEAD", "POST"])
@unlisted
def decline(request: HttpRequest, signature: str, value: str) -> HttpResponse:
    """GET asks, POST declines, POST with ``again`` takes it back."""
    found = declining.read(signature, value)
    if found is None:
        status = _TOO_MANY if guesses.too_many(request) else _NOT_FOUND
        context = {"shop": Shop.objects.first(), "ended": False}
        return render(request, "status/no_link.html", context, status=status)
    customer, kind = found
    if request.method == "POST":
        if "again" in request.POST:
            declining.take_back(customer_id=customer.pk, kind=kind)
        else:
            declining.decline(customer_id=customer.pk, kind=kind, at=timezone.now())
    declined = Declined.objects.filter(customer=customer, kind=kind).exists()
    choice: dict[str, object] = {
        "shop": Shop.objects.first(),
        "kind": kind.label,
        "declined": declined,
        "asked": request.method == "POST",
    }
    return render(request, "status/decline.html", choice)
