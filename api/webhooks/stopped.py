"""The shop is told by mail when an address is called no more."""

import logging
from smtplib import SMTPException

from django.core.mail import send_mail
from django.utils.translation import gettext as _

from api.models import Webhook
from cylinders.models import Shop

log = logging.getLogger(__name__)


def tell_the_shop(webhook: Webhook) -> None:
    """Write to the shop; without an address or a mail server it stays in the list and the log."""
    webhook.refresh_from_db()
    who = webhook.lab.name if webhook.lab else _("the shop's own system")
    log.warning("webhook %s is called no more: %s", webhook.pk, webhook.stopped_why)
    shop = Shop.objects.first()
    if shop is None or not shop.email:
        return
    subject = _("Calls to %(who)s have ended") % {"who": who.replace("\n", " ")}
    says = _(
        "%(who)s is no longer called when something happens, since %(why)s. Nothing is lost: what "
        "is owed waits, and goes when the address is called again."
    ) % {"who": who, "why": webhook.stopped_why}
    try:
        send_mail(subject, says, None, [shop.email])
    except (OSError, SMTPException) as fault:
        log.warning("the shop could not be told: %s", fault)
