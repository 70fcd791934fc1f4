"""The owner's page behind a link: the story so far, what is due, what to mind. GET changes nothing.

No login and no session: whoever holds the link reads, and whoever is signed in as staff sees the
same. The page names no person and loads nothing from elsewhere.
"""

import datetime as dt
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from api.links import Ended, cylinder_behind, cylinders_of, open_link
from api.middleware import unlisted
from api.models import StatusLink
from api.pages.status import duty_words, guesses, spread
from api.wording import told
from cylinders.models import Cylinder, Shop
from cylinders.queries.due import duties_of
from cylinders.queries.for_customer import Story, story_of
from cylinders.queries.for_customer.where import where_is
from cylinders.queries.for_stranger import fill_to, in_both
from cylinders.queries.shop_day import shop_day, zone_of
from cylinders.queries.stored_files import for_owner
from labels.codes import show
from labels.models import Tag, TagKind, TagState

_NOT_FOUND, _GONE, _TOO_MANY = 404, 410, 429
_MOST_OTHERS = 60
_STOPS = ("fail", "unknown")


@require_safe
@unlisted
def status(request: HttpRequest, token: str, number: int | None = None) -> HttpResponse:
    """Show the story behind ``token``, of its own cylinder or of another of the same owner."""
    at = timezone.now()
    link = open_link(token, at=at)
    if not isinstance(link, StatusLink):
        return no_link(request, link)
    spread.note(request, link_id=link.pk)
    cylinder = cylinder_behind(link, number)
    if cylinder is None:
        return no_link(request, None)
    shop = Shop.objects.first()
    zone = zone_of(shop)
    on = shop_day(at, zone=zone).on
    story = story_of(cylinder, on=on, zone=zone)
    context = {
        "shop": shop,
        "story": story,
        "code": code_of(cylinder.pk),
        "pressure": in_both(story.highest.marked),
        "fill_says": _fill_says(story),
        "stages": _stages(story),
        "duties": duty_words.shown(story.duties),
        "on": on,
        "at": at.astimezone(zone),
        "photos": for_owner(cylinder),
        "others": _others(link, cylinder, on=on),
        "expires": link.expires_at.astimezone(zone).date(),
        "token": token,
        "where_at": _local(story.where.since, at=at, zone=zone),
    }
    return render(request, "status/status.html", context)


@dataclass(frozen=True, slots=True)
class Other:
    """Another cylinder of the same owner, in one line; ``due`` is what stands first, if any."""

    number: int
    name: str
    serial: str
    where: str
    due: duty_words.DutyShown | None


def _others(link: StatusLink, shown: Cylinder, *, on: dt.date) -> list[Other]:
    rows = cylinders_of(link).exclude(pk=shown.pk)
    return [_other(row, on=on) for row in rows[:_MOST_OTHERS]]


def _other(cylinder: Cylinder, *, on: dt.date) -> Other:
    duties = duty_words.shown(duties_of(cylinder, on=on))
    mark = "-".join(word for word in (cylinder.authority, cylinder.specification) if word)
    return Other(
        number=cylinder.pk,
        name=" ".join(word for word in (mark, in_both(cylinder.pressure)) if word),
        serial=cylinder.serial,
        where=where_is(cylinder).heading,
        due=min(duties, key=_weight, default=None),
    )


def _weight(duty: duty_words.DutyShown) -> int:
    """What stops a fill is told before what is due, and that before what does not matter to it."""
    if duty.stops_fill and duty.tone in _STOPS:
        return _STOPS.index(duty.tone)
    return len(_STOPS) + (not duty.stops_fill)


def no_link(request: HttpRequest, ended: Ended | None) -> HttpResponse:
    """Say that a link opens nothing: 410 where it once did, 404 where it never did."""
    context = {"shop": Shop.objects.first(), "ended": ended is not None}
    if ended is not None:
        return render(request, "status/no_link.html", context, status=_GONE)
    many = guesses.too_many(request)
    response = render(
        request, "status/no_link.html", context, status=_TOO_MANY if many else _NOT_FOUND
    )
    if many:
        response.headers["Retry-After"] = str(guesses.SECONDS)
    return response


def code_of(cylinder_id: int) -> str:
    """The code on the cylinder's own tag, grouped as printed; empty where it has none."""
    tags = Tag.objects.filter(cylinder_id=cylinder_id, kind=TagKind.CYLINDER, state=TagState.LIVE)
    code = tags.values_list("code", flat=True).first()
    return show(code) if code else ""


def _fill_says(story: Story) -> str:
    if not story.verdict.allowed or story.where.steps:
        return ""  # while it is in the shop, only what stands in the way is of use
    top = fill_to(story.verdict, story.highest)
    return (
        _("In date as recorded. At most %(top)s.") % {"top": told(top)}
        if top
        else _("In date as recorded.")
    )


def _stages(story: Story) -> str:
    """How far the visit has come, in words, beside the bar that shows it."""
    steps = story.where.steps
    here = [n for n, step in enumerate(steps, start=1) if step.state == "here"]
    return _("Step %(here)s of %(count)s") % {"here": here[0], "count": len(steps)} if here else ""


def _local(since: dt.datetime | None, *, at: dt.datetime, zone: dt.tzinfo) -> dt.datetime | None:
    return since.astimezone(zone) if since and since <= at else None
