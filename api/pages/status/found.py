"""The form by which whoever found a tagged thing writes to the shop; a few an hour and address."""

from django import forms
from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from api import found
from api.middleware import unlisted
from api.pages import fields
from api.pages.status import guesses
from cylinders.models import Shop
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say
from labels.codes import show
from labels.scanning import Named, identify

MOST_AN_HOUR = 5
_HOUR = 3600
_NOT_FOUND, _FAULTS, _REFUSED, _TOO_MANY = 404, 422, 409, 429


class FinderForm(fields.PageForm):
    """What was found, and how the shop can answer."""

    text = forms.CharField(
        label=say("Where did you find it, or what is wrong with it?"),
        max_length=found.LONGEST,
        widget=forms.Textarea(attrs={"rows": "4"}),
        error_messages={"required": say("Write where you found it, or what is wrong with it.")},
    )
    reply_to = fields.line(
        say("How can the shop answer you?"), hint=say("If you like."), required=False
    )


@require_http_methods(["GET", "HEAD", "POST"])
@unlisted
def finder(request: HttpRequest, code: str) -> HttpResponse:
    """Show the form, or keep what was written."""
    shop = Shop.objects.first()
    named = identify(code, hosts={settings.TAG_HOST})
    if not isinstance(named, Named):
        context = {"shop": shop, "asked": True, "says": named.says, "shown": named.shown}
        return render(request, "status/unknown.html", context, status=_NOT_FOUND)
    told: dict[str, object] = {"shop": shop, "code": show(named.tag.code), "plain": named.tag.code}
    if request.method != "POST":
        return render(request, "status/found.html", told | {"form": FinderForm()})
    form = FinderForm(request.POST)
    if not form.is_valid():
        return render(request, "status/found.html", told | {"form": form}, status=_FAULTS)
    if guesses.too_many(request, what="finder", most=MOST_AN_HOUR, seconds=_HOUR):
        return render(request, "status/found.html", told | {"many": True}, status=_TOO_MANY)
    try:
        found.write(
            code=named.tag.code,
            text=form.cleaned_data["text"],
            reply_to=form.cleaned_data["reply_to"],
            at=timezone.now(),
        )
    except Refused as refused:
        told |= {"form": form, "refused": refused}
        return render(request, "status/found.html", told, status=_REFUSED)
    return render(request, "status/found.html", told | {"kept": True})
