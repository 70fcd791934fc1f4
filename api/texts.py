"""A customer's text message: one short line with a link and a way to stop; and the log as sender.

The words hold no name and say little, because a phone shows them on its locked screen. The link
opens the page of all of the customer's cylinders, where the rest is told.
"""

import datetime as dt
import logging
from collections.abc import Sequence

from django.conf import settings
from django.utils import translation
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from api import declining, links
from api.wording import told
from cylinders.facts import Actor
from cylinders.models import Customer, MessageKind, Shop
from cylinders.operations.reminders import Line, Text
from cylinders.rules.wording import say

log = logging.getLogger(__name__)
SWEEP = Actor("service", "sweep")
_NEWS = {
    "received": say("We have your cylinder."),
    "held": say("The lab's result for your cylinder waits for a second look here."),
    "ready": say("Your cylinder is ready."),
    "rejected": say("Your cylinder is rejected. Please read the written notice."),
    "condemned": say("Your cylinder is condemned. Please read the written notice."),
    "still_here": say("Your cylinder is still with us."),
}


def write(
    *,
    customer: Customer,
    kind: MessageKind,
    lines: Sequence[Line],
    on: dt.date,
    at: dt.datetime,
) -> Text:
    """Write the text message that tells ``lines`` to ``customer`` on the shop's day ``on``."""
    known = dict(settings.LANGUAGES)
    language = customer.language if customer.language in known else settings.LANGUAGE_CODE
    with translation.override(language):
        shop = Shop.objects.first()
        cylinder = lines[0].cylinder.pk
        words = {
            "shop": shop.name if shop else _("Your dive shop"),
            "says": told(_NEWS[lines[0].notice.duty])
            if kind is MessageKind.VISIT
            else _due(lines, on),
            "link": links.issue(cylinder_id=cylinder, at=at, by=SWEEP).address,
            "stop": declining.address_of(customer_id=customer.pk, kind=kind),
        }
        return Text(customer.phone, _("%(shop)s: %(says)s %(link)s No more: %(stop)s") % words)


def _due(lines: Sequence[Line], on: dt.date) -> str:
    """What is due first, and on how many cylinders there is something."""
    count = len({line.cylinder.pk for line in lines})
    days = [line.duty.due for line in lines if line.duty is not None and line.duty.due is not None]
    words = {"count": count, "month": date_format(min(days, default=on), "F Y")}
    if min(days, default=on) < on:
        return (
            ngettext(
                "Your cylinder: something ran out at the end of %(month)s.",
                "Your %(count)s cylinders: something ran out at the end of %(month)s.",
                count,
            )
            % words
        )
    return (
        ngettext(
            "Your cylinder: something is due by the end of %(month)s.",
            "Your %(count)s cylinders: something is due by the end of %(month)s.",
            count,
        )
        % words
    )


class LogSender:
    """Writes each message into the service's log instead of sending it: to try it out.

    The number is left out, and the log masks what is secret in the addresses.
    """

    def send(self, message: Text, *, key: str) -> None:
        """Write it; the key tells which rows it is about."""
        log.info("text message %s: %s", key, message.text)
