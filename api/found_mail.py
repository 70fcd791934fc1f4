"""The shop is told by mail what finders wrote: all that waits in one mail, one mail in ten minutes.

However much a stranger writes, the shop's letter box fills slowly. The subject and the headers are
the service's own; what was written, and how to answer, stand in the body and nowhere else.
"""

import datetime as dt
import logging
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from api import arming
from api.models import FoundMessage
from cylinders.models import Shop
from labels.codes import show

log = logging.getLogger(__name__)
APART = dt.timedelta(minutes=10)
#: More than this in one mail are counted, not written out; the page has them all.
_MOST = 20


def tell_the_shop(*, at: dt.datetime) -> int:
    """Send what waits, unless a mail has gone lately; returns of how many messages it told.

    The mark and the mail stand or fall together: a mail that was not taken is tried again. Told
    twice is better here than not at all, so a mail may come twice where a connection broke.
    """
    shop = Shop.objects.first()
    if shop is None or not shop.email or not arming.is_armed():
        return 0
    try:
        with transaction.atomic():
            shop = Shop.objects.select_for_update().get(pk=shop.pk)
            if FoundMessage.objects.filter(mailed_at__gt=at - APART).exists():
                return 0
            waiting = list(
                FoundMessage.objects.filter(mailed_at=None, handled_at=None).order_by("at")
            )
            if not waiting:
                return 0
            numbers = [message.pk for message in waiting]
            FoundMessage.objects.filter(pk__in=numbers).update(mailed_at=at)
            send_mail(_subject(waiting), _body(waiting), None, [shop.email])
    except (OSError, SMTPException) as fault:
        log.warning("the shop could not be told what finders wrote: %s", type(fault).__name__)
        return 0
    return len(waiting)


def _subject(waiting: list[FoundMessage]) -> str:
    count = len(waiting)
    if count == 1:
        return _("A finder wrote about tag %(code)s") % {"code": show(waiting[0].code)}
    return ngettext("%(count)s finder wrote", "%(count)s finders wrote", count) % {"count": count}


def _body(waiting: list[FoundMessage]) -> str:
    lines = [_one(message) for message in waiting[:_MOST]]
    if len(waiting) > _MOST:
        lines.append(_("And %(count)s more.") % {"count": len(waiting) - _MOST})
    lines.append(
        _("All of them: %(address)s") % {"address": settings.PUBLIC_URL + reverse("messages")}
    )
    return "\n\n".join(lines) + "\n"


def _one(message: FoundMessage) -> str:
    words = {"code": show(message.code), "at": f"{message.at:%Y-%m-%d %H:%M} UTC"}
    lines = [
        _("Tag %(code)s, %(at)s:") % words,
        *(f"> {line}" for line in message.text.splitlines()),
    ]
    if message.reply_to:
        lines.append(_("How to answer, as they wrote it: %(reply)s") % {"reply": message.reply_to})
    return "\n".join(lines)
