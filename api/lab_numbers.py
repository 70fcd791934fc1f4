"""Labs' numbers that are to end: told on the pages, and to the shop by mail, each warning once."""

import datetime as dt
import logging
from smtplib import SMTPException

from django.core.mail import send_mail
from django.db import transaction
from django.utils.translation import gettext as _

from api import arming
from api.models import NumberWarning
from cylinders.models import Lab, Shop
from cylinders.rules.lab_number import standing, warning_due
from cylinders.rules.verdict import Finding, Outcome

log = logging.getLogger(__name__)


def findings(*, on: dt.date) -> list[tuple[Lab, Finding]]:
    """Every lab whose number has ended or is soon to end, the first to end first."""
    told = [
        (lab, standing(lab.rin, lab.rin_valid_until, on=on))
        for lab in Lab.objects.order_by("rin_valid_until", "pk")
    ]
    return [(lab, finding) for lab, finding in told if finding.outcome is not Outcome.OK]


def warn_the_shop(*, on: dt.date, at: dt.datetime) -> int:
    """Write to the shop of each number whose next warning is due; returns how many mails went.

    The row that says so and the mail stand or fall together: a mail that was not taken is tried on
    the next day.
    """
    shop = Shop.objects.first()
    if shop is None or not shop.email or not arming.is_armed():
        return 0
    return sum(_warn(lab, finding, shop, on=on, at=at) for lab, finding in findings(on=on))


def _warn(lab: Lab, finding: Finding, shop: Shop, *, on: dt.date, at: dt.datetime) -> int:
    days = warning_due(lab.rin_valid_until, on=on)
    subject = _("%(lab)s: its number %(rin)s") % {
        "lab": lab.name.replace("\n", " "),
        "rin": lab.rin,
    }
    try:
        with transaction.atomic():
            key = {"lab": lab, "valid_until": lab.rin_valid_until, "days": days}
            _row, new = NumberWarning.objects.get_or_create(**key, defaults={"sent_at": at})
            if not new:
                return 0
            send_mail(subject, f"{finding.says}\n{finding.cites}\n", None, [shop.email])
    except (OSError, SMTPException) as fault:
        log.warning("the shop could not be told of number %s: %s", lab.rin, fault)
        return 0
    return 1
