"""The address in a message by which its reader declines that kind of message (RFC 8058).

It needs no row and no login: the customer's number and the kind, signed. The signature stands
first, so that logs mask it like every other long part of an address.
"""

import datetime as dt

from django.conf import settings
from django.core.signing import BadSignature, Signer
from django.db import transaction
from django.urls import reverse

from cylinders.models import Customer, Declined, MessageKind

_SIGNER = "cylinders.decline"
_LONGEST = 80


def address_of(*, customer_id: int, kind: MessageKind) -> str:
    """The address that declines messages of ``kind`` for one customer."""
    value = f"{customer_id}-{kind.value}"
    signature = Signer(salt=_SIGNER).signature(value)
    return f"{settings.PUBLIC_URL}{reverse('decline', args=[signature, value])}"


def read(signature: str, value: str) -> tuple[Customer, MessageKind] | None:
    """Whose messages of which kind an address declines; None where it is not one of ours."""
    if len(signature) > _LONGEST or len(value) > _LONGEST:
        return None
    try:
        signed = Signer(salt=_SIGNER).unsign(f"{value}:{signature}")
    except BadSignature:
        return None
    number, _, kind = signed.partition("-")
    customer = Customer.objects.filter(pk=int(number)).first()
    return (customer, MessageKind(kind)) if customer else None


@transaction.atomic
def decline(*, customer_id: int, kind: MessageKind, at: dt.datetime) -> None:
    """Send that customer no more messages of ``kind``; asked twice it is the same."""
    Declined.objects.get_or_create(customer_id=customer_id, kind=kind, defaults={"at": at})


@transaction.atomic
def take_back(*, customer_id: int, kind: MessageKind) -> None:
    """Send that customer messages of ``kind`` again."""
    Declined.objects.filter(customer_id=customer_id, kind=kind).delete()
