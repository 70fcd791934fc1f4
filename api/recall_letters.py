"""The letter to an owner whose cylinder's test stands on something found to be wrong."""

from collections.abc import Sequence

from django.utils import translation
from django.utils.translation import gettext as _

from cylinders.models import Customer, Shop, TestRecord


def by_mail(owner: Customer) -> bool:
    """Whether the owner agreed to mail, at an address that takes it."""
    return bool(owner.email and owner.email_consent and not owner.email_bounced)


def subject() -> str:
    """The same for everybody; it holds nothing that a person typed."""
    return _("A test of your cylinder is in doubt")


def text(owner: Customer, records: Sequence[TestRecord], reason: str) -> str:
    """The letter, in the owner's language."""
    shop = Shop.objects.first()
    with translation.override(owner.language):
        lines = [
            _("Dear %(name)s,") % {"name": owner.name},
            "",
            _("The last pressure test of the cylinder below may not be right: %(reason)s")
            % {"reason": reason},
            "",
            *(
                _("%(cylinder)s, tested on %(day)s (record %(reference)s)")
                % {
                    "cylinder": record.cylinder,
                    "day": record.tested_on,
                    "reference": record.lab_reference,
                }
                for record in records
            ),
            "",
            _("Do not fill or use it until we have looked at it. Please bring it to us."),
            "",
            shop.name if shop else "",
            shop.phone if shop else "",
        ]
    return "\n".join(lines).strip() + "\n"
