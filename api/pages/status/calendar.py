"""The due dates of an owner's cylinders as a calendar feed behind its link (RFC 5545, RFC 7986).

A mark gives a month and no day, so an entry stands on the first day of the month in which the duty
ends and says that the month is meant. Its name (UID) is the same each time the feed is read; a duty
that was done has a new last day, and so a new entry.
"""

import datetime as dt
from collections.abc import Iterable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe
from icalendar import Alarm, Calendar, Event

from api.links import cylinders_of, open_link
from api.middleware import unlisted
from api.models import StatusLink
from api.pages.status import duty_words
from api.pages.status.page import no_link
from api.wording import told
from cylinders import history
from cylinders.models import Cylinder, Shop
from cylinders.queries.due import duties_of
from cylinders.queries.shop_day import shop_day, zone_of
from cylinders.rules.duty import Duty

REMIND = dt.timedelta(days=-30)
REFRESH = dt.timedelta(days=1)


@require_safe
@unlisted
def calendar(request: HttpRequest, token: str) -> HttpResponse:
    """Answer with the feed of the cylinders behind ``token``."""
    at = timezone.now()
    link = open_link(token, at=at)
    if not isinstance(link, StatusLink):
        return no_link(request, link)
    shop = Shop.objects.first()
    on = shop_day(at, zone=zone_of(shop)).on
    body = feed(cylinders_of(link), on=on, shop=shop)
    headers = {"Content-Disposition": 'inline; filename="cylinder.ics"'}
    return HttpResponse(body, content_type="text/calendar; charset=utf-8", headers=headers)


def feed(cylinders: Iterable[Cylinder], *, on: dt.date, shop: Shop | None) -> bytes:
    """The feed as text; the same on the same day for the same history."""
    calendar = Calendar()
    calendar.add("prodid", "-//cylinder service//due dates//EN")
    calendar.add("version", "2.0")
    calendar.add("name", _("Cylinder due dates"))
    calendar.add("x-wr-calname", _("Cylinder due dates"))
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", "P1D")
    for cylinder in cylinders:
        made = history.timeline(cylinder.pk)[-1].at.astimezone(dt.UTC).replace(microsecond=0)
        for duty in duties_of(cylinder, on=on):
            if duty.due is not None:
                calendar.add_component(_event(cylinder, duty, duty.due, made=made, shop=shop))
    return bytes(calendar.to_ical())


def _event(
    cylinder: Cylinder, duty: Duty, due: dt.date, *, made: dt.datetime, shop: Shop | None
) -> Event:
    name, month = told(duty_words.name_of(duty.kind)), date_format(due, "F Y")
    first = due.replace(day=1)
    event = Event()
    event.add("uid", _uid(cylinder, duty, due))
    event.add("dtstamp", made)
    event.add("dtstart", first)
    event.add("dtend", first + dt.timedelta(days=1))
    event.add("transp", "TRANSPARENT")
    event.add(
        "summary",
        _("%(name)s due in %(month)s: cylinder %(serial)s")
        % {"name": name, "month": month, "serial": cylinder.serial or _("unmarked")},
    )
    event.add("description", _describe(duty, due, shop))
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", REMIND)
    alarm.add("description", _("%(name)s is due in %(month)s") % {"name": name, "month": month})
    event.add_component(alarm)
    return event


def _describe(duty: Duty, due: dt.date, shop: Shop | None) -> str:
    month = date_format(due, "F Y")
    lines = [
        _("Only the month is known: good through the last day of %(month)s.") % {"month": month},
        told(duty.says),
        _("Source: %(cites)s") % {"cites": duty.cites},
    ]
    if shop:
        lines.append(" ".join(word for word in (shop.name, shop.phone) if word))
    return "\n".join(lines)


def _uid(cylinder: Cylinder, duty: Duty, due: dt.date) -> str:
    key = f"{cylinder.pk}:{duty.kind}:{due}"
    name = salted_hmac("cylinders.calendar", key, algorithm="sha256").hexdigest()[:32]
    return f"{name}@{settings.TAG_HOST.lower()}"
